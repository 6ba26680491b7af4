import { looksLike, searchWords, tagKey } from '@heatround/domain';
import { describe, expect, it } from 'vitest';

describe('tags that are one and tags that are two', () => {
  it('D30: case, blanks and ways of encoding make no second tag; another letter does', () => {
    expect(tagKey(' b-iro-01 ')).toBe(tagKey('B-IRO-01'));
    expect(tagKey('B-KÜ-1')).toBe(tagKey('b-ku\u0308-1'));
    expect(tagKey('\u200fB-01\u200e')).toBe(tagKey('B-01'));
    expect(tagKey('مضخة-1')).toBe(tagKey('\u202bمضخة-1\u202c'));
    expect(tagKey('P-🔥-1')).not.toBe(tagKey('P-1'));
    expect(tagKey('B-IRO-01')).not.toBe(tagKey('B-IR0-01'));
    expect(tagKey('x'.repeat(200))).toHaveLength(200);
  });

  it('D30: O and 0 stay two tags, and are found to look alike', () => {
    expect(looksLike('B-IRO-01')).toBe(looksLike('B-IR0-0l'));
    expect(looksLike('B-KU-1')).not.toBe(looksLike('B-KÜ-1'));
  });

  it('is found by its pieces, without accents', () => {
    expect(searchWords('B-KÜ-01 Kühler')).toEqual(expect.arrayContaining(['b', 'ku', '01', 'kuhler']));
  });
});
