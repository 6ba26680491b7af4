/** Long histories in bounded size: the newest readings stay whole, older ones become weighted groups at reference conditions. */
import type { Sample } from './sample.ts';
import { CONDENSE } from './setting.ts';
import type { StartCurve } from './start-curve.ts';

/** The sample itself when it is short enough, otherwise at most 160 entries; O(n). */
export function condense(sample: Sample, start: StartCurve): Sample {
  if (sample.count <= CONDENSE.above) return sample;
  const older = sample.count - CONDENSE.newest;
  const groupSize = Math.ceil(older / CONDENSE.groups);
  const groups = Math.ceil(older / groupSize);
  const count = groups + CONDENSE.newest;
  const time = new Float64Array(count);
  const value = new Float64Array(count);
  const logLoad = new Float64Array(count);
  const ambientOffset = new Float64Array(count);
  const groupWeight = new Float64Array(count).fill(1);
  for (let group = 0; group < groups; group++) {
    const from = group * groupSize;
    const to = Math.min(from + groupSize, older);
    let weight = 0;
    let valueSum = 0;
    let timeSum = 0;
    for (let i = from; i < to; i++) {
      const load = sample.logLoad[i]!;
      const factor = sample.loadModel === 'power' ? Math.exp(start.loadExponent * load) : 1;
      const trusted = Math.min(1, start.weights[i]!) * factor;
      weight += trusted * factor;
      valueSum += trusted * (sample.value[i]! - start.loadSlope * load);
      timeSum += trusted * factor * sample.time[i]!;
    }
    groupWeight[group] = weight;
    value[group] = valueSum / weight;
    time[group] = timeSum / weight;
  }
  time.set(sample.time.subarray(older), groups);
  value.set(sample.value.subarray(older), groups);
  logLoad.set(sample.logLoad.subarray(older), groups);
  ambientOffset.set(sample.ambientOffset.subarray(older), groups);
  const timeLeft = time.map((u) => 1 - u);
  return { ...sample, count, time, timeLeft, value, logLoad, ambientOffset, groupWeight };
}
