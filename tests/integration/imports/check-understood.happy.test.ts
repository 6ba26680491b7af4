/** What the dry run says it understood, and what it asks a person to look at. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Harness, type Person, readingFact, startService } from '../../support/harness.ts';
import { check, look, makeMissing, run } from './import-file.ts';

const T = '\u202f';

describe('the dry run says what it understood', () => {
  let service: Harness;
  let planner: Person;
  let roomId: string;
  beforeAll(async () => {
    service = await startService();
    const place = await service.organisation();
    roomId = place.roomId;
    planner = await service.person(place.id, ['planner']);
    await service.asset(planner, roomId, { tag: 'P-101', points: [{ letter: 'a' }] });
  });
  afterAll(() => service?.close());

  it('unit, times, decimal mark, points, limits as stored, and rows in words', async () => {
    const text = [
      'machine,timestamp,value,load,ambient',
      'X-MCH-01,2013-12-02 20:00:00,78.0,62,70',
      'X-MCH-01,2013-12-03 20:00:00,79.5,64,70',
      'X-MCH-02,2014-02-19 07:30:00,101,58,70',
      'P-101,2014-01-01 10:00:00,90,90,70',
      '',
    ].join('\n');
    const mapping = {
      columns: { tag: 'machine', takenAt: 'timestamp', value: 'value', load: 'load', ambient: 'ambient' },
      defaults: { unit: '°F', zone: 'America/New_York', ambientUnit: '°F' },
      makeMissing: makeMissing(roomId, { limit: 180 }),
    };
    const seen = await check(service, planner, { text, mapping });
    expect(seen).toMatchObject({ badCount: 0, warnings: [] });
    expect(seen.understood).toEqual([
      'Values are in °F, compared in °C.',
      'Times: "2013-12-02 20:00:00" is 2 Dec 2013 20:00.',
      'Times without a zone of their own are of America/New_York.',
      'The first is of 2 Dec 2013 20:00, the last of 19 Feb 2014 07:30.',
      'The decimal mark is a point.',
      'Points: 1 of the register, 2 to be made on 2 new assets.',
      `Limit of all 2 points to be made: Soon at 82.22${T}°C (180 °F as written).`,
      `Reference load of X-MCH-01 a: 63${T}%, the usual one of its rows.`,
      `Reference load of X-MCH-02 a: 58${T}%, the usual one of its rows.`,
      `row 2: X-MCH-01 a, 2 Dec 2013 20:00, 78.0${T}°F = 25.6${T}°C`,
      `row 3: X-MCH-01 a, 3 Dec 2013 20:00, 79.5${T}°F = 26.4${T}°C`,
      `row 4: X-MCH-02 a, 19 Feb 2014 07:30, 101${T}°F = 38.3${T}°C`,
    ]);
    // It stays with the import once it is brought in.
    await run(service, planner, seen.id);
    expect((await look(planner, seen.id)).understood).toHaveLength(12);
    const [line] = (await planner.call('listImports')).body.imports;
    expect(line).not.toHaveProperty('understood');
  });

  it('dates without an hour, a decimal comma, cells with their own unit and zone', async () => {
    const text = 'tag;takenAt;value\nP-101;03/04/2025;60,5\nP-101;2025-04-05T09:14:00+02:00;62 °C\n';
    const mapping = {
      columns: { tag: 'tag', takenAt: 'takenAt', value: 'value' },
      defaults: { hour: '08:00', dateOrder: 'day-first' },
    };
    expect((await check(service, planner, { text, mapping })).understood).toEqual([
      'Values: 1 without a unit, taken as °C; 1 in °C.',
      'Times: "03/04/2025" is 3 Apr 2025 08:00.',
      'Dates without a time of day count as 08:00.',
      '1 time with a zone of its own is taken by it.',
      'Times without a zone of their own are of Europe/Dublin.',
      'The first is of 3 Apr 2025 08:00, the last of 5 Apr 2025 08:14.',
      'The decimal mark is a comma.',
      'Points: 1 of the register.',
      `row 2: P-101 a, 3 Apr 2025 08:00, 60.5${T}°C`,
      `row 3: P-101 a, 5 Apr 2025 08:14, 62${T}°C`,
    ]);
  });

  it('asks about unlikely values, doubled times, one hour of day for all, and readings that are nearly there already', async () => {
    const { pointIds } = await service.asset(planner, roomId, { tag: 'P-102', points: [{ letter: 'a' }] });
    const at = (day: number, time = '00:00') => `2025-03-${String(day).padStart(2, '0')} ${time}`;
    await planner.submit(
      [1, 2, 3, 4, 5, 6, 7, 8].map((day) => readingFact(pointIds[0]!, '60', { takenAt: `2025-03-0${day}T00:02:00Z` })),
    );
    const values = [60, 61, 160, 60, 60, 60, 165, 61, 170, 60, 180, 60];
    const rows = values.map((value, i) => `P-102,${at(i + 1)},${value}`);
    const text = `tag,takenAt,value\n${rows.join('\n')}\nP-102,${at(12)},62\n`;
    const { warnings } = await check(service, planner, { text });
    expect(warnings).toEqual([
      `Row 4, P-102 a: 160${T}°C? The last was 61.0.`,
      expect.stringMatching(/^Row 5, P-102 a: 60.°C\? The last was 160\.0\./),
      expect.stringMatching(/^Row 8, P-102 a: 165.°C\? The last was 60\.0\./),
      '5 more values are as unlikely.',
      'One time stands more than once at one point with different values, first in row 13.',
      'All times lie in the hour from 00:00: does the file hold dates only, or a zone of its own?',
      '8 of 13 rows lie within 5 minutes of a reading that is already there: was this brought in before in another form?',
    ]);
  });

  it('work and registers say theirs', async () => {
    const work = await check(service, planner, { kind: 'work', text: 'tag,takenAt,work\nP-101,2025-03-12 14:30,Regreased\n' });
    expect(work.understood).toEqual([
      'Times: "2025-03-12 14:30" is 12 Mar 2025 14:30.',
      'Times without a zone of their own are of Europe/Dublin.',
      'The first is of 12 Mar 2025 14:30, the last of 12 Mar 2025 14:30.',
      'The decimal mark is a point.',
      'row 2: P-101, 12 Mar 2025 14:30, regreased',
    ]);
    const header =
      'site,zone,building,room,tag,name,criticality,criticalityReason,letter,pointName,quantity,unit,soon,source,reason';
    const row = 'Quay,Europe/Oslo,Hall,Bay 1,K-1,Crane,A,only one,a,Gearbox,temperature,°F,194,site practice,seen in 2019';
    const assets = await check(service, planner, { kind: 'assets', text: `${header}\n${row}\n` });
    expect(assets).toMatchObject({ errors: [], warnings: [] });
    expect(assets.understood).toEqual([
      'The decimal mark is a point.',
      `row 2: K-1 Crane in Quay, Hall, Bay 1: a Gearbox (temperature, Soon 90${T}°C)`,
    ]);
  });
});
