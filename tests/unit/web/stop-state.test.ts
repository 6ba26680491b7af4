import { completePoint, type Point } from '@heatround/domain';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  activeField,
  entriesOf,
  nextField,
  openStop,
  press,
  type StopAction,
  type StopState,
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
