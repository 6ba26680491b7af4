/**
 * A mail server for tests, in the little of RFC 5321 that a sender meets: it takes messages, refuses, puts off, stays silent or breaks
 * off, at the step that a test names.
 */
import { createServer, type Server, type Socket } from 'node:net';

export type Step = 'connect' | 'mail' | 'rcpt' | 'data' | 'content' | 'accepted';
export interface Behaviour {
  readonly step: Step;
  /** A reply such as "550 no such user"; silent: says nothing; break: ends the connection. */
  readonly does: string | 'silent' | 'break';
}
export interface TakenMail {
  readonly to: string;
  readonly content: string;
}

export interface MailServer {
  readonly url: string;
  /** What was accepted, in order: the sender may or may not have heard of it. */
  readonly taken: TakenMail[];
  /** Asked at every step; null: all is well. */
  behave: (step: Step, to: string) => Behaviour['does'] | null;
  /** Told at every step, before anything is answered. */
  onStep: (step: Step, to: string) => void;
  close(): Promise<void>;
}

export async function startMailServer(): Promise<MailServer> {
  const sockets = new Set<Socket>();
  const taken: TakenMail[] = [];
  const server: Server = createServer((socket) => {
    sockets.add(socket);
    socket.on('close', () => sockets.delete(socket));
    socket.on('error', () => {});
    let to = '';
    let buffer = '';
    let inContent = false;
    /** Answers, unless the test has something else in mind for this step. */
    const answer = (step: Step | null, usual: string): boolean => {
      if (step !== null) mail.onStep(step, to);
      const does = step === null ? null : mail.behave(step, to);
      if (does === 'silent') return false;
      if (does === 'break') {
        socket.destroy();
        return false;
      }
      socket.write(`${does ?? usual}\r\n`);
      return does === null;
    };
    const line = (text: string): void => {
      const verb = text.slice(0, 4).toUpperCase();
      if (verb === 'EHLO' || verb === 'HELO') answer(null, '250 here');
      else if (verb === 'MAIL') answer('mail', '250 ok');
      else if (verb === 'RCPT') {
        to = /<([^>]*)>/.exec(text)?.[1] ?? '';
        answer('rcpt', '250 ok');
      } else if (verb === 'DATA') inContent = answer('data', '354 go on');
      else if (verb === 'QUIT') {
        answer(null, '221 bye');
        socket.end();
      } else answer(null, '250 ok');
    };
    socket.on('data', (chunk) => {
      buffer += chunk.toString('latin1');
      for (;;) {
        const end = buffer.indexOf(inContent ? '\r\n.\r\n' : '\r\n');
        if (inContent && buffer !== '' && end < 0) mail.onStep('content', to);
        if (end < 0) return;
        const part = buffer.slice(0, end);
        buffer = buffer.slice(end + (inContent ? 5 : 2));
        if (!inContent) {
          line(part);
          continue;
        }
        inContent = false;
        mail.onStep('content', to);
        const refuses = mail.behave('content', to);
        if (refuses !== null) {
          if (refuses === 'break') socket.destroy();
          else if (refuses !== 'silent') socket.write(`${refuses}\r\n`);
          continue;
        }
        // From here on the recipient has it, whatever the sender hears.
        taken.push({ to, content: part.replace(/\r\n\.\./g, '\r\n.') });
        answer('accepted', `250 taken as ${taken.length}`);
      }
    });
    answer('connect', '220 mail.example.org');
  });
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  const { port } = server.address() as { port: number };
  const mail: MailServer = {
    url: `smtp://127.0.0.1:${port}`,
    taken,
    behave: () => null,
    onStep: () => {},
    close: () =>
      new Promise((done) => {
        for (const socket of sockets) socket.destroy();
        server.close(() => done());
      }),
  };
  return mail;
}
