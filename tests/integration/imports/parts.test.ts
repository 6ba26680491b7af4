/** Files of points, limits and routes: tried with an error for every cell, brought in once, taken back. */
import { occurrencesOf, sayRule } from '@heatround/domain';
import { importTemplate, ruleOf } from '@heatround/services/imports';
import { afterAll, beforeAll, describe, expect, it, test } from 'vitest';
import { type Harness, type Person, startService, testLimits } from '../../support/harness.ts';
import { check, run, takeBack } from './import-file.ts';

describe('files of the register', () => {
  let service: Harness;
  let planner: Person;
  let place: { id: string; roomId: string; siteId: string };
  beforeAll(async () => {
    service = await startService();
    place = await service.organisation();
    planner = await service.person(place.id, ['planner']);
  });
  afterAll(() => service?.close());

  const page = async (assetId: string) => (await planner.call('getAsset', { params: { assetId } })).body;
  const routes = async () => (await planner.call('listRoutes')).body.routes;
  const wrong = (seen: { errors: { row: number; column: string | null; expected: string }[] }) =>
    seen.errors.map(({ row, column, expected }) => `${row} ${column}: ${expected}`);
  const bringIn = async (file: Parameters<typeof check>[2]) => {
    const seen = await check(service, planner, file);
    expect(seen.errors).toEqual([]);
    return run(service, planner, seen.id);
  };

  it('points come to assets that are there, with their limits; the same file again finds its letters taken; taken back, they are free', async () => {
    const { id } = await service.asset(planner, place.roomId, { tag: 'P-1' });
    const text = `tag,letter,pointName,quantity,unit,watch,plan,soon,now,source,reason\nP-1,b,Far end,temperature,°F,158,176,194,212,practice,grease\nP-1,c,Sideways,vibration-velocity,mm/s,,2.8,,,practice,medium machine\n`;
    const seen = await check(service, planner, { kind: 'points', text });
    expect(seen).toMatchObject({ state: 'checked', badCount: 0, summary: { pointsMade: 2, duplicate: 0, skipped: 0 } });
    expect(seen.understood).toContain('row 2: P-1 b: Far end (temperature)');
    expect((await page(id)).points).toHaveLength(1);
    const done = await run(service, planner, seen.id);
    expect(done).toMatchObject({ state: 'brought-in', summary: { pointsMade: 2 } });
    const { points } = await page(id);
    expect(points.map((one: { point: { letter: string } }) => one.point.letter)).toEqual(['a', 'b', 'c']);
    expect(points[1].limits).toMatchObject([{ watch: expect.closeTo(70, 6), now: expect.closeTo(100, 6), source: 'practice' }]);
    const again = await check(service, planner, { kind: 'points', text });
    expect(wrong(again)).toEqual([
      '2 letter: A letter that is free; b is Far end already.',
      '3 letter: A letter that is free; c is Sideways already.',
    ]);
    expect((await takeBack(service, planner, done.id)).undo).toMatchObject({ goes: { points: 2 }, stays: {} });
    expect((await page(id)).points).toHaveLength(1);
    expect((await bringIn({ kind: 'points', text })).summary).toMatchObject({ pointsMade: 2 });
    expect((await page(id)).points).toHaveLength(3);
  });

  it('every cell of a point that is wrong says what was expected, and with a bad row nothing comes in', async () => {
    const { id } = await service.asset(planner, place.roomId, { tag: 'P-2' });
    const text = `tag,letter,pointName,quantity,watch,plan,source,reason\nP-2,b,Good,temperature,70,80,practice,grease\nNONE,b,X,temperature,,,,\nP-2,a,Taken,temperature,,,,\nP-2,b,Twice,temperature,,,,\nP-2,c,,warmth,,,,\nP-2,d,Reversed,temperature,80,70,practice,grease\nP-2,e,No source,temperature,70,,,\n`;
    const seen = await check(service, planner, { kind: 'points', text });
    expect(seen.badCount).toBe(6);
    expect(seen.errors.map(({ row, column }: { row: number; column: string }) => `${row} ${column}`)).toEqual([
      '3 tag',
      '4 letter',
      '5 letter',
      '6 quantity',
      '6 pointName',
      '7 plan',
      '8 source',
      '8 reason',
    ]);
    expect((await run(service, planner, seen.id)).state).toBe('refused');
    expect((await page(id)).points).toHaveLength(1);
    const other = await check(service, planner, { kind: 'points', text });
    expect((await run(service, planner, other.id, true)).summary).toMatchObject({ pointsMade: 1, skipped: 6 });
  });

  it('limits come as new versions from now on, once, and going back sets each side to what it was', async () => {
    const { id, pointIds } = await service.asset(planner, place.roomId, { tag: 'L-1' });
    const text = `tag;letter;direction;watch;plan;soon;now;source;reason\nL-1;a;high;60,5;65;70;75;sheet of the maker;it stands in the sun\nL-1;a;low;5;;;;sheet of the maker;colder than the room\n`;
    const seen = await check(service, planner, { kind: 'limits', text });
    expect(seen).toMatchObject({ badCount: 0, summary: { limitsMade: 2 } });
    expect(seen.understood).toContain('row 2: L-1 a: Watch 60.5, Plan 65, Soon 70, Now 75 °C or above');
    const done = await run(service, planner, seen.id);
    const limits = async () => (await planner.call('listLimits', { params: { pointId: pointIds[0]! } })).body.limits;
    expect((await limits()).slice(1)).toMatchObject([
      { version: 2, direction: 'high', watch: 60.5, validFrom: service.clock.now() },
      { version: 3, direction: 'low', watch: 5, plan: null },
    ]);
    expect((await check(service, planner, { kind: 'limits', text })).summary).toMatchObject({ duplicate: 2 });
    service.clock.advance(60_000);
    expect((await takeBack(service, planner, done.id)).undo).toEqual({ goes: { limits: 2 }, stays: {}, examples: [] });
    expect((await limits()).slice(3)).toMatchObject([
      { direction: 'high', watch: 70, now: 100, reason: 'As before the file file.csv, which was taken back.' },
      { direction: 'low', watch: null, plan: null, soon: null, now: null },
    ]);
    expect((await page(id)).points[0].point.letter).toBe('a');

    const second = await bringIn({ kind: 'limits', text });
    const { validFrom: _, ...draft } = testLimits();
    await planner.call('addLimits', { params: { pointId: pointIds[0]! }, body: { ...draft, watch: 66 } });
    expect((await takeBack(service, planner, second.id)).undo).toMatchObject({
      goes: { limits: 1 },
      stays: { limits: 1 },
      examples: [{ name: 'L-1 a', why: 'its limits were changed since' }],
    });
    expect((await limits()).at(-2)).toMatchObject({ direction: 'high', watch: 66 });
  });

  it('both sides moved past where they stood come and go back together', async () => {
    const { pointIds } = await service.asset(planner, place.roomId, {
      tag: 'L-2',
      points: [{ limits: [{ watch: 20, plan: 25, soon: 30, now: 35 }] }],
    });
    const { validFrom: _, ...draft } = testLimits();
    const low = { ...draft, direction: 'low', watch: 10, plan: 5, soon: null, now: null };
    expect((await planner.call('addLimits', { params: { pointId: pointIds[0]! }, body: low })).status).toBe(201);
    const text = 'tag,direction,watch,source,reason\nL-2,high,90,s,r\nL-2,low,50,s,r\n';
    const done = await bringIn({ kind: 'limits', text });
    service.clock.advance(60_000);
    expect((await takeBack(service, planner, done.id)).undo).toMatchObject({ goes: { limits: 2 }, stays: {} });
    const { limits } = (await planner.call('listLimits', { params: { pointId: pointIds[0]! } })).body;
    expect(limits.slice(-2)).toMatchObject([
      { direction: 'high', watch: 20 },
      { direction: 'low', watch: 10 },
    ]);
  });

  it('every cell of a limit that is wrong says what was expected', async () => {
    await service.asset(planner, place.roomId, { tag: 'L-3' });
    const text = `tag,letter,criterion,direction,watch,plan,source,reason\nL-3,z,,,70,,s,r\nL-3,a,warmth,,70,,s,r\nL-3,a,,sideways,70,,s,r\nL-3,a,,high,warm,,s,r\nL-3,a,,low,,,s,r\nL-3,a,,high,80,70,s,\nL-9,a,,high,80,,s,r\n`;
    const seen = await check(service, planner, { kind: 'limits', text });
    expect(seen.errors.map(({ row, column }: { row: number; column: string }) => `${row} ${column}`)).toEqual([
      '2 letter',
      '3 criterion',
      '4 direction',
      '4 direction',
      '5 watch',
      '5 direction',
      '6 watch',
      '7 direction',
      '8 tag',
    ]);
  });

  it('routes come with their stops in the order of the rows and with their rounds; taken back, code and points are free', async () => {
    const { pointIds } = await service.asset(planner, place.roomId, { tag: 'R-1', points: [{}, {}, {}] });
    const text = `code,name,rule,start,daysBefore,daysAfter,tag,letter\nRT1,Pump house,every second Thursday,2026-05-07 08:00,1,2,R-1,b\nRT1,,,,,,R-1,a\nRT2,Panels,FREQ=MONTHLY;BYDAY=1MO,2026-05-04 10:00,,,R-1,c\n`;
    const seen = await check(service, planner, { kind: 'routes', text });
    expect(seen).toMatchObject({ badCount: 0, summary: { routesMade: 2 } });
    expect(seen.understood).toContain('row 2: RT1 Pump house: every second Thursday, from 2026-05-07 08:00, 2 stops');
    expect(await routes()).toEqual([]);
    const done = await run(service, planner, seen.id);
    expect(done.summary).toMatchObject({ routesMade: 2, skipped: 0 });
    const [first, second] = await routes();
    expect(first).toMatchObject({
      code: 'RT1',
      name: 'Pump house',
      ruleInWords: 'every second Thursday',
      window: { daysBefore: 1, daysAfter: 2 },
    });
    expect(first.stops.map(({ pointId }: { pointId: string }) => pointId)).toEqual([pointIds[1], pointIds[0]]);
    expect(first.next[0].occurrence ?? first.next[0].plannedAt).toContain('2026-05-07');
    expect(second).toMatchObject({ code: 'RT2', ruleInWords: 'every month on the first Monday' });
    expect(wrong(await check(service, planner, { kind: 'routes', text }))).toEqual([
      '2 code: A code that is free; there is such a route already.',
      '4 code: A code that is free; there is such a route already.',
    ]);
    await planner.call('changeRoute', { params: { routeId: second.id }, body: { version: 1, name: 'Panels, all' } });
    const back = await takeBack(service, planner, done.id);
    expect(back.undo).toEqual({
      goes: { routes: 1 },
      stays: { routes: 1 },
      examples: [{ name: 'RT2', why: 'somebody changed it since, or has one of its rounds' }],
    });
    expect((await routes()).map(({ code }: { code: string }) => code)).toEqual(['RT2']);
    const due = await planner.call('listDue', { query: { siteId: place.siteId } });
    expect(JSON.stringify(due.body)).not.toContain('RT1');
    expect((await bringIn({ kind: 'routes', text: text.split('\n').slice(0, 3).join('\n') })).summary).toMatchObject({
      routesMade: 1,
    });
  });

  it('every cell of a route that is wrong says what was expected', async () => {
    await service.asset(planner, place.roomId, { tag: 'R-2' });
    const text = `code,name,rule,start,tag,letter\nX1,,whenever,someday,R-2,a\nX2,N,every day,2026-05-07,R-2,z\nX3,N,FREQ=HOURLY,2026-05-07 08:00,R-2,a\nX3,Other,,,R-2,a\n,N,every day,2026-05-07,R-2,a\n`;
    const seen = await check(service, planner, { kind: 'routes', text });
    expect(seen.errors.map(({ row, column }: { row: number; column: string }) => `${row} ${column}`)).toEqual([
      '2 name',
      '2 rule',
      '2 start',
      '3 letter',
      '4 rule',
      '5 name',
      '5 letter',
      '6 code',
    ]);
  });

  it.each(['points', 'limits', 'routes'] as const)('the example file of %s is understood by its column names', async (kind) => {
    const { text } = importTemplate(kind);
    const fresh = await service.organisation();
    const there = await service.person(fresh.id, ['planner']);
    const seen = await check(service, there, { kind, text });
    expect(seen.state).toBe('checked');
    expect(seen.errors.every(({ column }: { column: string }) => column === 'tag')).toBe(true);
  });
});

test.each([
  'FREQ=DAILY',
  'FREQ=DAILY;INTERVAL=3',
  'FREQ=WEEKLY;BYDAY=TU',
  'FREQ=WEEKLY;INTERVAL=2;BYDAY=TH',
  'FREQ=WEEKLY;BYDAY=MO,TH',
  'FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH',
  'FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR',
  'FREQ=WEEKLY;INTERVAL=6',
  'FREQ=MONTHLY;BYDAY=1MO',
  'FREQ=MONTHLY;BYDAY=-1FR',
  'FREQ=MONTHLY;BYMONTHDAY=15,-1',
  'FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=1',
  'FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1',
  'FREQ=YEARLY',
])('%s, said in words and read again, gives the same days', (rule) => {
  const read = ruleOf(sayRule(rule, 'Europe/Dublin'));
  expect(read).toHaveProperty('rule');
  const days = (one: string) =>
    occurrencesOf(
      { rule: one, startLocal: '2026-05-04T08:00', zone: 'Europe/Dublin' },
      Date.UTC(2026, 4, 1),
      Date.UTC(2028, 4, 1),
      1000,
    ).map(({ local }) => local);
  expect(days((read as { rule: string }).rule)).toEqual(days(rule));
});

test.each([
  ['daily', 'FREQ=DAILY'],
  ['Weekly on Tuesday', 'FREQ=WEEKLY;BYDAY=TU'],
  ['every 2 weeks on Mon and Thu', 'FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH'],
  ['the first Monday of every month', 'FREQ=MONTHLY;BYDAY=1MO'],
  ['quarterly', 'FREQ=MONTHLY;INTERVAL=3'],
])('%s is %s', (words, rule) => expect(ruleOf(words)).toEqual({ rule }));

test.each(['', 'whenever', 'every blue moon', 'every 0 days', 'FREQ=HOURLY', 'every Tuesday or so'])(
  '%j is refused with what was expected',
  (text) => expect(ruleOf(text)).toHaveProperty('expected'),
);
