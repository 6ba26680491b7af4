/**
 * The secret of this installation: signs sessions, derives the database passwords. Taken from the settings, or made once and kept in
 * the data folder, readable by its owner only.
 */
import { randomBytes } from 'node:crypto';
import { link, mkdir, readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { StartRefusal } from './start-refusal.ts';

/**
 * @param secret what the settings say; wins when given.
 * @param dataFolder where a secret of one's own is kept, in the file `secret`.
 */
export async function installationSecret(secret: string | undefined, dataFolder: string): Promise<string> {
  if (secret !== undefined) return secret;
  const file = join(dataFolder, 'secret');
  const read = () =>
    readFile(file, 'utf8').then(
      (text) => text.trim(),
      (error) => {
        if (error.code === 'ENOENT') return null;
        throw error;
      },
    );
  let kept = await read();
  if (kept === null) {
    await mkdir(dataFolder, { recursive: true });
    const draft = `${file}.${process.pid}`;
    await writeFile(draft, `${randomBytes(32).toString('base64url')}\n`, { mode: 0o600 });
    // A link never replaces a file: of two first starts at once, both read the same secret.
    await link(draft, file).catch((error) => {
      if (error.code !== 'EEXIST') throw error;
    });
    await rm(draft, { force: true });
    kept = await read();
  }
  if (kept === null || kept.length < 32) {
    throw new StartRefusal(
      `The file ${file} is damaged: restore it from a backup, or delete it (everybody then signs in again).`,
    );
  }
  return kept;
}
