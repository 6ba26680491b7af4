import type { HandedOver } from '@heatround/contract';
import { AMPS, type Entry, type Fact } from '@heatround/domain';
import { sayCount, sentenceCase, withSign } from '../../ui/format.ts';
import { GRADE_WORDS } from '../../ui/marks.tsx';
import { WORK_WORDS } from '../asset/words.ts';
import { COULD_NOT_WORDS } from '../stop/words.ts';

const nameOf = (name: string): string => (name.startsWith(AMPS) ? `current ${name.slice(AMPS.length)}` : name);
const sayFigure = ({ text, unit }: Entry): string => withSign(text, unit);

/** What a person entered, as one line: "87 °C; load 96 %, ambient 31 °C". */
export function sayEntry(fact: Fact): string {
  switch (fact.kind) {
    case 'reading-taken': {
      const inputs = Object.entries(fact.inputs);
      const figures = inputs.map(([name, entry]) =>
        inputs.length === 1 && name === 'value' ? sayFigure(entry) : `${nameOf(name)} ${sayFigure(entry)}`,
      );
      const conditions = Object.entries(fact.conditions).map(([name, entry]) => `${name} ${sayFigure(entry)}`);
      const pieces = [figures.length === 0 ? 'a reading without a figure' : figures.join(', '), conditions.join(', ')];
      if (fact.running === false) pieces.push('not running');
      if (fact.corrects !== undefined) pieces.push('corrects an earlier reading');
      return pieces.filter((piece) => piece !== '').join('; ');
    }
    case 'stop-answered':
      return COULD_NOT_WORDS[fact.answer].word;
    case 'work-recorded':
      return sentenceCase(WORK_WORDS[fact.work]);
    case 'finding-reported':
      return `Reported as ${GRADE_WORDS[fact.grade]}: ${fact.words}`;
    case 'put-right':
      return `Put right, ${WORK_WORDS[fact.work]}. Found: ${fact.found} Did: ${fact.did}`;
    case 'round-taken':
      return 'Set out on the round';
    case 'round-given':
      return 'Gave the round to somebody else';
    case 'round-handed-in':
      return 'Handed the round in';
  }
}

/** Words beside the entry that are not part of its line. */
export const sayBeside = (fact: Fact): string | null => (fact.kind === 'finding-reported' ? null : (fact.words ?? null));

/** Entries of one person, in the order of the list. */
export interface FromPerson {
  readonly id: string;
  readonly name: string;
  readonly entries: readonly HandedOver[];
}
export function byPerson(entries: readonly HandedOver[]): FromPerson[] {
  const groups = new Map<string, { id: string; name: string; entries: HandedOver[] }>();
  for (const entry of entries) {
    const group = groups.get(entry.person.id) ?? { ...entry.person, entries: [] };
    group.entries.push(entry);
    groups.set(entry.person.id, group);
  }
  return [...groups.values()];
}

const PEOPLE = ['nobody', 'one person', 'two people', 'three people', 'four people', 'five people'];
/** The sentence that opens the planner's list. */
export function sayWaiting(entries: number, people: number, hasMore: boolean): string {
  if (entries === 0) return 'Nothing handed over waits for you.';
  const count = hasMore ? `The first ${sayCount(entries, 'entry', 'entries')}` : sayCount(entries, 'entry', 'entries');
  const from = PEOPLE[people] ?? `${people} people`;
  return `${count} from ${from} ${entries === 1 && !hasMore ? 'waits' : 'wait'} for you.`;
}

/** What became of entries that were decided together. */
export function sayDecided(results: readonly { readonly outcome: string }[]): string {
  const count = (outcome: string): number => results.filter((result) => result.outcome === outcome).length;
  const accepted = count('accepted');
  const away = count('turned-away');
  const still = results.length - accepted - away;
  const pieces: string[] = [];
  if (accepted > 0) pieces.push(`${sayCount(accepted, 'entry is', 'entries are')} recorded.`);
  if (away > 0) pieces.push(`${sayCount(away, 'entry is', 'entries are')} turned away and kept with the reason.`);
  if (still > 0)
    pieces.push(
      `${sayCount(still, 'entry', 'entries')} could not be recorded; the reason stands beside ${still === 1 ? 'it' : 'them'}.`,
    );
  return pieces.join(' ');
}
