import { completePoint, type Point } from '@heatround/domain';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  activeField,
  entriesOf,
  nextField,
  openStop,
  press,
  restOfComponents,
  type StopAction,
  type StopState,
  sharedAs,
  shownFields,
} from '../../../apps/web/src/screens/stop/stop-state.ts';

const bearing = completePoint({
  id: '0198f000-0000-7000-8000-000000000001',
  letter: 'a',
  name: 'Bearing',
  quantity: 'temperature',
  needs: ['load', 'ambient'],
}) as Point;
const phases = completePoint({
  id: '0198f000-0000-7000-8000-000000000002',
  letter: 'b',
  name: 'Joint',
  quantity: 'like-part-difference',
  parts: ['L1', 'L2', 'L3'],
  needs: ['load'],
}) as Point;
const voltage = completePoint({
  id: '0198f000-0000-7000-8000-000000000003',
  letter: 'c',
  name: 'Battery',
  quantity: 'voltage',
}) as Point;

const type = (state: StopState, text: string): StopState =>
  [...text].reduce((now, character) => press(now, { is: 'type', character }), state);
const confirm = (state: StopState, question: string | null = null): StopState =>
  press(state, { is: 'confirm', ask: () => question });
const textOf = (state: StopState, name: string): string | undefined => state.fields.find((field) => field.name === name)?.text;

describe('digits', () => {
  test('comma and point are both taken, once', () => {
    expect(textOf(type(openStop(voltage, {}), '24,,8.1'), 'value')).toBe('24,81');
  });
  test('a separator first becomes a figure, leading noughts fall away', () => {
    expect(textOf(type(openStop(voltage, {}), ',5'), 'value')).toBe('0,5');
    expect(textOf(type(openStop(voltage, {}), '007'), 'value')).toBe('7');
  });
  test('minus turns the sign round, whenever it is pressed', () => {
    expect(textOf(type(openStop(bearing, {}), '12−'), 'value')).toBe('−12');
    expect(textOf(type(openStop(bearing, {}), '-12-'), 'value')).toBe('12');
  });
  test('delete takes the last digit', () => {
    expect(textOf(press(type(openStop(voltage, {}), '24'), { is: 'delete' }), 'value')).toBe('2');
  });
});

describe('values that are carried over', () => {
  const carried = { ambient: { text: '31', unit: '°C', at: 5 }, load: { text: '96', unit: '%', at: 5 } };
  test('stand in their fields and say so; the reading itself is never filled in', () => {
    const state = openStop(bearing, carried);
    expect(textOf(state, 'value')).toBe('');
    expect(state.fields.find((field) => field.name === 'load')).toMatchObject({ text: '96', carriedAt: 5 });
    expect(confirm(type(state, '87')).stage).toBe('verdict');
  });
  test('are replaced by the first digit after they were chosen', () => {
    const state = type(press(openStop(bearing, carried), { is: 'choose', name: 'load' }), '50');
    expect(state.fields.find((field) => field.name === 'load')).toMatchObject({ text: '50', carriedAt: null });
  });
});

describe('confirming', () => {
  test('leads through what is still empty, then to the verdict', () => {
    let state = confirm(type(openStop(bearing, {}), '87'));
    expect([state.stage, state.active]).toEqual(['enter', 'load']);
    state = confirm(type(state, '96'));
    expect(state.active).toBe('ambient');
    expect(confirm(type(state, '31')).stage).toBe('verdict');
  });
  test('an unlikely value is asked about once; yes is remembered, change starts it anew', () => {
    const asked = confirm(type(openStop(voltage, {}), '870'), '870 V? The last was 25.2.');
    expect([asked.stage, asked.question]).toEqual(['asked', '870 V? The last was 25.2.']);
    expect(press(asked, { is: 'really' })).toMatchObject({ stage: 'verdict', isConfirmedUnlikely: true });
    expect(textOf(type(press(asked, { is: 'change' }), '25'), 'value')).toBe('25');
  });
  test('one of several like parts behind a stuck cover costs no reading, all of them do', () => {
    let state = openStop(phases, {});
    expect(press(state, { is: 'go-on-without' })).toBe(state);
    for (const digits of ['41', '52']) state = confirm(type(state, digits));
    state = press(state, { is: 'go-on-without' });
    expect(state.active).toBe('load');
    state = confirm(type(state, '97'));
    expect(state.stage).toBe('verdict');
    expect(Object.keys(entriesOf(state, 'input'))).toEqual(['L1', 'L2']);
  });
  test('the key says what is missing where the open field is still empty, and how to go on', () => {
    const fresh = confirm(openStop(bearing, {}));
    expect(fresh).toMatchObject({ stage: 'enter', active: 'value', wrong: { name: 'value' } });
    expect(fresh.wrong!.expected).toMatch(/ is still empty: type what you read\.$/);
    let state = openStop(bearing, {});
    for (const digits of ['87', '96']) state = confirm(type(state, digits));
    expect(state).toMatchObject({ active: 'ambient', wrong: null });
    expect(confirm(state)).toMatchObject({
      stage: 'enter',
      wrong: { name: 'ambient', expected: 'Air is still empty: type it, or go on without air.' },
    });
    expect(press(confirm(state), { is: 'go-on-without' }).wrong).toBeNull();
  });
  test('what cannot be read as a figure says what was expected, at its field', () => {
    const state = confirm(press(openStop(voltage, {}), { is: 'resume', texts: { value: '−' }, active: null }));
    expect(state.wrong?.name).toBe('value');
    expect(state.wrong?.expected).toContain('such as');
  });
});

test('read again empties the readings and keeps the conditions', () => {
  let state = openStop(bearing, {});
  for (const digits of ['87', '96', '31']) state = confirm(type(state, digits));
  state = press(state, { is: 'read-again' });
  expect([textOf(state, 'value'), textOf(state, 'load'), state.active]).toEqual(['', '96', 'value']);
});

test('a draft brings typed digits back', () => {
  const state = press(openStop(bearing, {}), { is: 'resume', texts: { value: '87', nothing: '1' }, active: 'load' });
  expect([textOf(state, 'value'), state.active]).toEqual(['87', 'load']);
});

test('whatever is pressed, in any order, the digits go to a field that exists and no verdict comes without a reading', () => {
  const action = fc.oneof(
    fc.constantFrom(...'0123456789.,−').map((character): StopAction => ({ is: 'type', character })),
    fc.constantFrom<StopAction>(
      { is: 'delete' },
      { is: 'go-on-without' },
      { is: 'really' },
      { is: 'change' },
      { is: 'read-again' },
      { is: 'could-not' },
      { is: 'back' },
    ),
    fc.constantFrom('L1', 'L2', 'load', 'nowhere').map((name): StopAction => ({ is: 'choose', name })),
    fc.constantFrom(null, 'Is that so?').map((question): StopAction => ({ is: 'confirm', ask: () => question })),
  );
  void fc.assert(
    fc.property(fc.array(action, { maxLength: 60 }), (actions) => {
      const state = actions.reduce(press, openStop(phases, {}));
      expect(activeField(state)).not.toBeNull();
      if (state.stage === 'verdict') {
        expect(Object.keys(entriesOf(state, 'input')).length).toBeGreaterThan(0);
        expect(nextField(state)).toBeNull();
      }
    }),
    { numRuns: 300 },
  );
});

describe('many components', () => {
  const array = (count: number) =>
    completePoint({
      id: '0198f000-0000-7000-8000-000000000004',
      letter: 'd',
      name: 'Tubes',
      quantity: 'neighbour-difference',
      parts: Array.from({ length: count }, (_, index) => `${index + 1}`),
    });
  const enter = (state: StopState, text: string): StopState => confirm(type(state, text));

  test('few are typed one after the other, and the way leads through the array', () => {
    let state = openStop(array(6), {});
    expect([state.way, state.active]).toEqual(['each', '1']);
    for (const text of ['31', '32', '30']) state = enter(state, text);
    expect([state.active, restOfComponents(state).length]).toEqual(['4', 3]);
    state = press(state, { is: 'go-on-without-rest' });
    expect(nextField(state)).toBeNull();
    expect(confirm(state).stage).toBe('verdict');
    expect(Object.keys(entriesOf(state, 'input'))).toEqual(['1', '2', '3']);
  });
  test('one that cannot be read is left out by itself', () => {
    let state = enter(openStop(array(6), {}), '31');
    state = press(state, { is: 'go-on-without' });
    expect([state.active, state.without]).toEqual(['3', ['2']]);
  });
  test('many are read from one picture first: coldest, median, warmest', () => {
    const state = openStop(array(36), {});
    expect([state.way, state.active, shownFields(state).filter(({ part }) => part === 'input').length]).toEqual([
      'picture',
      'coldest',
      3,
    ]);
    const read = ['28', '31', '38'].reduce(enter, state);
    expect(read.stage).toBe('verdict');
    expect(Object.keys(entriesOf(read, 'input'))).toEqual(['coldest', 'middle', 'warmest']);
  });
  test('turning to the other way keeps what was typed and sends only what belongs to the way', () => {
    const started = type(openStop(array(6), {}), '31');
    const turned = press(started, { is: 'way', way: 'picture' });
    expect(entriesOf(turned, 'input')).toEqual({});
    const back = press(turned, { is: 'way', way: 'each' });
    expect(entriesOf(back, 'input')).toEqual({ 1: { text: '31', unit: '°C' } });
  });
  test('a kept draft opens in the way it was begun in', () => {
    const state = press(openStop(array(36), {}), { is: 'resume', texts: { 4: '31' }, active: '5' });
    expect([state.way, state.active, textOf(state, '4')]).toEqual(['each', '5', '31']);
  });
});

describe('what is shared', () => {
  test('steam of a room, weather of a site and air of a room are taken over', () => {
    const trap = completePoint({ id: bearing.id, letter: 'a', name: 'Trap', quantity: 'steam-trap' });
    const carried = { steamPressure: { text: '7', unit: 'bar', at: 5 }, ambient: { text: '24', unit: '°C', at: 5 } };
    expect(textOf(openStop(trap, carried), 'steamPressure')).toBe('7');
    const spot = completePoint({ id: bearing.id, letter: 'b', name: 'Wall', quantity: 'surface-humidity' });
    expect(textOf(openStop(spot, carried), 'air')).toBe('24');
    expect([sharedAs('air'), sharedAs('value'), sharedAs('outdoor')]).toEqual(['ambient', null, 'outdoor']);
  });
});

describe('a correction', () => {
  const before = { inputs: { value: { text: '75,0', unit: '°C' } }, conditions: { emissivity: { text: '0.30', unit: '1' } } };
  test('starts from what was typed and asks for the true settings of the imager', () => {
    const state = openStop(bearing, {}, before);
    expect([textOf(state, 'value'), textOf(state, 'emissivity'), textOf(state, 'trueEmissivity')]).toEqual(['75,0', '0.30', '']);
    const settled = type(press(state, { is: 'choose', name: 'trueEmissivity' }), '0.93');
    expect(entriesOf(settled, 'condition')).toMatchObject({ emissivity: { text: '0.30' }, trueEmissivity: { text: '0.93' } });
    expect(entriesOf(settled, 'input')).toEqual({ value: { text: '75,0', unit: '°C' } });
  });
  test('the first digit replaces the value; a stop that corrects nothing asks for no true settings', () => {
    expect(textOf(type(press(openStop(bearing, {}, before), { is: 'choose', name: 'value' }), '8'), 'value')).toBe('8');
    expect(textOf(openStop(bearing, {}), 'trueEmissivity')).toBeUndefined();
  });
});
