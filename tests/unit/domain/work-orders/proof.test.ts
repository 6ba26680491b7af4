import { GATES, judgeProof, type ProofQuestion } from '@heatround/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aVerdict } from './builders.ts';

const judge = (overrides: Partial<ProofQuestion> = {}) =>
  judgeProof({
    verdict: aVerdict('fine'),
    findingLoadPercent: 78,
    proofLoadPercent: 80,
    loadFamily: 'electrical',
    basis: 'raw',
    minimumLoadPercent: 40,
    value: 41,
    target: null,
    ...overrides,
  });

describe('proof', () => {
  it('is given below Watch, and by nothing worse', () => {
    expect(judge()).toEqual({ result: 'proved', sentence: 'Proved: 60 °C is fine.' });
    for (const grade of ['watch', 'plan', 'soon', 'now'] as const)
      expect(judge({ verdict: aVerdict(grade) }).result).toBe('not-proved');
  });

  it('D87: at 31 % load it is refused with the load to come back at', () => {
    const verdict = aVerdict(null, { gate: 'load-too-low' });
    expect(judge({ verdict, proofLoadPercent: 31, basis: 'corrected' })).toEqual({
      result: 'not-comparable',
      reason: 'load-too-low',
      comeBackAt: { fromPercent: 40, toPercent: null },
      sentence: 'Not comparable at 31 % load: come back at ≥ 40 % load.',
    });
  });

  it('D87: a raw figure at a lower load than the finding proves nothing, a corrected one may', () => {
    expect(judge({ proofLoadPercent: 62.9 })).toMatchObject({
      result: 'not-comparable',
      reason: 'load-unlike',
      comeBackAt: { fromPercent: 63, toPercent: 93 },
      sentence: 'Not comparable at 62.9 % load: come back at 63 to 93 % load.',
    });
    expect(judge({ proofLoadPercent: 63 }).result).toBe('proved');
    expect(judge({ proofLoadPercent: 93 }).result).toBe('proved');
    expect(judge({ proofLoadPercent: 93.1 }).result).toBe('not-comparable');
    expect(judge({ proofLoadPercent: 45, basis: 'corrected' }).result).toBe('proved');
    expect(judge({ proofLoadPercent: 20, loadFamily: 'none' }).result).toBe('proved');
    expect(judge({ findingLoadPercent: 45, proofLoadPercent: 70 })).toMatchObject({
      comeBackAt: { fromPercent: 40, toPercent: 60 },
    });
  });

  it('with the load of one of the two unknown it stands only near the reference', () => {
    expect(judge({ proofLoadPercent: null })).toMatchObject({ result: 'not-comparable', reason: 'load-missing' });
    expect(judge({ findingLoadPercent: null }).result).toBe('proved');
    expect(judge({ findingLoadPercent: null, verdict: aVerdict('fine', { comparability: 'corrected' }) })).toMatchObject({
      reason: 'load-unlike',
      comeBackAt: { fromPercent: 85, toPercent: 110 },
    });
  });

  it('a target stated by the order takes the place of Watch; exactly on it does not prove, nor does Plan or worse', () => {
    const target = { value: 41, direction: 'high' } as const;
    expect(judge({ target, value: 40.9, verdict: aVerdict('watch') }).result).toBe('proved');
    expect(judge({ target, value: 41 }).result).toBe('not-proved');
    expect(judge({ target, value: 40, verdict: aVerdict('plan') }).result).toBe('not-proved');
    expect(judge({ target: { value: 55, direction: 'low' }, value: 57 }).result).toBe('proved');
    expect(judge({ target, value: null })).toMatchObject({ result: 'not-comparable', reason: 'no-grade' });
  });

  it('a point without limits is proved by a target or not at all', () => {
    const verdict = aVerdict(null, { gate: null, comparability: 'like-for-like' });
    expect(judge({ verdict })).toMatchObject({ result: 'not-comparable', reason: 'no-grade' });
    expect(judge({ verdict, target: { value: 50, direction: 'high' } }).result).toBe('proved');
  });

  it('under an open gate nothing is proved and nothing fails, whatever was seen', () => {
    fc.assert(
      fc.property(fc.constantFrom(...GATES), fc.constantFrom(null, 'plan' as const, 'now' as const), (gate, grade) => {
        const answer = judge({ verdict: aVerdict(grade, { gate, comparability: 'not-judged', atLeast: grade !== null }) });
        expect(answer).toMatchObject({ result: 'not-comparable', reason: gate });
        expect(answer.sentence).toMatch(/^Not comparable.*(come back|needed).*\.$/);
      }),
    );
  });
});
