import { readFileSync } from 'node:fs';

/**
 * Remembers who started this process: npm, or a shell that npm started.
 *
 * @returns {() => boolean} tells whether one of them has ended since.
 */
export function watchAncestors() {
  const parent = process.ppid;
  // npm runs scripts through a shell, which some systems keep in between; then npm is the shell's parent.
  const shellParent = isShell(parent) ? parentOf(parent) : null;
  return () => process.ppid !== parent || (shellParent !== null && parentOf(parent) !== shellParent);
}

function isShell(pid) {
  try {
    return /^(ba|da|a|z|k)?sh$/.test(readFileSync(`/proc/${pid}/comm`, 'utf8').trim());
  } catch {
    return false; // no /proc here: there the shell replaces itself with us
  }
}

function parentOf(pid) {
  try {
    // "pid (name) state parent …"; the name may itself hold spaces and brackets.
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8')
      .replace(/^.*\) /s, '')
      .split(' ');
    return Number(fields[1]);
  } catch {
    return null;
  }
}
