import { type Language, WORDS } from './words.ts';

/** A letter before it is set: the same in plain text and in HTML. */
export interface Letter {
  readonly subject: string;
  readonly greeting?: string;
  readonly opening: readonly string[];
  readonly sections: readonly {
    readonly title: string;
    readonly lines: readonly { readonly text: string; readonly note: string; readonly href: string | null }[];
    /** Said below the lines; empty: nothing. */
    readonly more: string;
  }[];
  /** The one thing to do. */
  readonly act: { readonly word: string; readonly href: string };
  readonly foot: readonly string[];
  readonly links: readonly { readonly word: string; readonly href: string }[];
}

export interface SetLetter {
  readonly subject: string;
  readonly text: string;
  readonly html: string;
}

const escaped = (text: string): string =>
  text.replace(/[&<>"']/g, (sign) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' })[sign]!);

/** One line each; what somebody typed cannot begin a header or a line of its own. */
const oneLine = (text: string): string => text.replace(/\s+/g, ' ').trim();

/** Sets a letter in plain text and in HTML that says the same. */
export function setLetter(letter: Letter, language: Language): SetLetter {
  const text = [
    ...(letter.greeting === undefined ? [] : [oneLine(letter.greeting), '']),
    ...letter.opening.map(oneLine),
    ...letter.sections.flatMap(({ title, lines, more }) => [
      '',
      `${title}:`,
      ...lines.flatMap(({ text: line, note, href }) => [
        `- ${oneLine(line)} (${oneLine(note)})`,
        ...(href === null ? [] : [`  ${href}`]),
      ]),
      ...(more === '' ? [] : [`  ${more}`]),
    ]),
    '',
    `${letter.act.word}: ${letter.act.href}`,
    '',
    '-- ',
    ...letter.foot.map(oneLine),
    ...letter.links.map(({ word, href }) => `${word}: ${href}`),
    '',
  ].join('\n');
  const paragraph = (line: string, style = ''): string => `<p style="margin:0 0 12px;${style}">${escaped(oneLine(line))}</p>`;
  const html = [
    '<!doctype html>',
    `<html lang="${language}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>${escaped(letter.subject)}</title></head>`,
    '<body style="margin:0;padding:24px 16px;background:#ffffff;color:#1a1a1a;font:16px/1.45 system-ui,sans-serif">',
    '<div style="max-width:600px;margin:0 auto">',
    ...(letter.greeting === undefined ? [] : [paragraph(letter.greeting)]),
    ...letter.opening.map((line) => paragraph(line, 'font-size:20px;')),
    ...letter.sections.map(
      ({ title, lines, more }) =>
        `<h2 style="font-size:16px;margin:20px 0 6px;border-top:2px solid #1a1a1a;padding-top:8px">${escaped(title)}</h2><ul style="margin:0;padding:0;list-style:none">${lines
          .map(
            ({ text: line, note, href }) =>
              `<li style="padding:8px 0;border-bottom:1px solid #c8c8c8">${href === null ? escaped(oneLine(line)) : `<a href="${escaped(href)}" style="color:#1a1a1a">${escaped(oneLine(line))}</a>`}<br><span style="color:#555555">${escaped(oneLine(note))}</span></li>`,
          )
          .join('')}${more === '' ? '' : `<li style="padding:8px 0;color:#555555">${escaped(more)}</li>`}</ul>`,
    ),
    `<p style="margin:24px 0"><a href="${escaped(letter.act.href)}" style="display:inline-block;padding:12px 18px;background:#1a1a1a;color:#ffffff;text-decoration:none;border-radius:3px">${escaped(letter.act.word)}</a></p>`,
    ...letter.foot.map((line) => paragraph(line, 'color:#555555;font-size:14px;')),
    `<p style="font-size:14px">${letter.links.map(({ word, href }) => `<a href="${escaped(href)}" style="color:#555555">${escaped(word)}</a>`).join(' · ')}</p>`,
    '</div></body></html>',
    '',
  ].join('\n');
  return { subject: oneLine(letter.subject), text, html };
}

/** The link that sets a new password. */
export const renewalLetter = (language: Language, name: string, href: string): SetLetter => {
  const words = WORDS[language];
  return setLetter(
    {
      subject: words.renewalSubject,
      greeting: words.hello(name),
      opening: [words.renewalOpening],
      sections: [],
      act: { word: words.renewIt, href },
      foot: [words.renewalFoot],
      links: [],
    },
    language,
  );
};
