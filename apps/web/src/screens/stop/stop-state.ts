import {
  CONDITION_NAMES,
  type ConditionName,
  conditionsNamed,
  conditionsOf,
  type Entry,
  type Expectation,
  inputsOf,
  kindOf,
  type Point,
  parseEntry,
  type UnitCode,
  unitOf,
  unitsLike,
} from '@heatround/domain';

/** Each component by itself, or what one picture shows of all of them. */
export type Way = 'each' | 'picture';

/** One field that is filled at the stop. */
export interface StopField {
  readonly name: string;
  readonly label: string;
  readonly part: 'input' | 'condition';
  readonly required: boolean;
  /** Unit the person enters in. */
  readonly unit: UnitCode;
  readonly expects: Expectation;
  readonly text: string;
  /** One of two ways of reading many components; undefined: asked in both. */
  readonly way?: Way | undefined;
  /** When the value was taken over from another stop, epoch milliseconds; null when typed here. */
  readonly carriedAt: number | null;
}

/**
 * Where the stop stands. enter: digits. asked: an unlikely value is questioned. verdict: judged, not yet kept.
 * could-not: the five answers.
 */
export type Stage = 'enter' | 'asked' | 'verdict' | 'could-not';
export interface StopState {
  readonly stage: Stage;
  /** All fields, also those of the way that is not taken; see shownFields. */
  readonly fields: readonly StopField[];
  /** Null: there is only one way of reading here. */
  readonly way: Way | null;
  /** Name of the field the digits go to. */
  readonly active: string;
  /** The next digit replaces what stands there, as after choosing a carried value. */
  readonly isFresh: boolean;
  readonly wrong: { readonly name: string; readonly expected: string } | null;
  readonly question: string | null;
  readonly isConfirmedUnlikely: boolean;
  /** Conditions the person went on without. */
  readonly without: readonly string[];
}

export type StopAction =
  | { readonly is: 'type'; readonly character: string }
  | { readonly is: 'delete' }
  | { readonly is: 'choose'; readonly name: string }
  | { readonly is: 'unit'; readonly unit: UnitCode }
  | { readonly is: 'confirm'; readonly ask: (state: StopState) => string | null }
  | { readonly is: 'go-on-without' }
  /** Every component that was not typed. */
  | { readonly is: 'go-on-without-rest' }
  | { readonly is: 'way'; readonly way: Way }
  | { readonly is: 'really' }
  | { readonly is: 'change' }
  | { readonly is: 'read-again' }
  | { readonly is: 'could-not' }
  | { readonly is: 'back' }
  | { readonly is: 'resume'; readonly texts: Readonly<Record<string, string>>; readonly active: string | null };

const MOST_DIGITS = 12;

/** Where a condition is the same for a while, so that it is asked once: in a room, at a machine, outdoors on a site. */
export const SHARED_IN = {
  ambient: 'room',
  humidity: 'room',
  steamPressure: 'room',
  returnPressure: 'room',
  load: 'asset',
  outdoor: 'site',
  wind: 'site',
  irradiance: 'site',
} as const satisfies Partial<Record<ConditionName, 'room' | 'asset' | 'site'>>;
export type Shared = keyof typeof SHARED_IN;

/** Values that may be taken over into the fields of a stop; everything else starts empty, the last value is only shown. */
export type CarriedOver = Readonly<
  Partial<Record<Shared, { readonly text: string; readonly unit: string; readonly at: number }>>
>;

/** The condition that a field stands for where it may be carried over: the air of a rise is the air of the room. */
export const sharedAs = (name: string): Shared | null =>
  name === 'air' ? 'ambient' : name in SHARED_IN ? (name as Shared) : null;

/** From so many components on, one picture of all of them is offered first. */
const MOST_TYPED_EACH = 12;

/** What the way asks for is required one after the other; the fields of the other way are not. */
const inWay = (fields: readonly StopField[], way: Way | null): StopField[] =>
  fields.map((field) => (field.way === undefined ? field : { ...field, required: field.way === way }));

/** The fields that are asked for in the way taken. */
export const shownFields = (state: Pick<StopState, 'fields' | 'way'>): StopField[] =>
  state.fields.filter((field) => field.way === undefined || field.way === state.way);

/** Components that wait for their value while enough of them have one to be compared. */
export function restOfComponents(state: StopState): StopField[] {
  const components = state.fields.filter((field) => field.way === 'each' && state.way === 'each');
  const open = components.filter((field) => field.text.trim() === '' && !state.without.includes(field.name));
  return components.length - open.length >= LEAST_COMPONENTS ? open : [];
}
const LEAST_COMPONENTS = 3;

/** What a reading that is being corrected was typed as. */
export interface TypedBefore {
  readonly inputs: Readonly<Record<string, Entry>>;
  readonly conditions: Readonly<Record<string, Entry>>;
}

/**
 * The stop as it opens. Values start empty, so that nobody confirms what was not read; a correction starts from what it
 * corrects, and at a point seen by an imager it may carry the true settings, from which the figure is computed anew.
 */
export function openStop(point: Point, carried: CarriedOver, corrected: TypedBefore | null = null): StopState {
  const blank = { text: '', carriedAt: null };
  const inputs = inputsOf(point).map((field): StopField => {
    const shared = sharedAs(field.name);
    const air = shared === null ? undefined : carried[shared];
    return { ...field, part: 'input', ...(air === undefined ? blank : { text: air.text, carriedAt: air.at }) };
  });
  const conditions = conditionsOf(point).map((field): StopField => {
    const shared = sharedAs(field.name);
    const from = shared === null ? undefined : carried[shared];
    return { ...field, part: 'condition', ...(from === undefined ? blank : { text: from.text, carriedAt: from.at }) };
  });
  const opened = [...inputs, ...conditions, ...(corrected !== null && point.infrared ? trueSettings() : [])];
  const all = corrected === null ? opened : opened.map((field) => typedAs(field, corrected));
  const each = all.filter((field) => field.way === 'each').length;
  const typed = all.find((field) => field.way !== undefined && field.text !== '')?.way;
  const way: Way | null = each === 0 ? null : (typed ?? (each > MOST_TYPED_EACH ? 'picture' : 'each'));
  const fields = inWay(all, way);
  return {
    stage: 'enter',
    fields,
    way,
    active: fields.find((field) => field.required && field.text === '')?.name ?? fields[0]?.name ?? '',
    isFresh: corrected !== null,
    wrong: null,
    question: null,
    isConfirmedUnlikely: false,
    without: [],
  };
}

/** What the imager should have been set to; asked only when a reading is corrected. */
const trueSettings = (): StopField[] =>
  conditionsNamed(['trueEmissivity', 'trueReflected']).map((field) => ({
    ...field,
    part: 'condition',
    required: false,
    text: '',
    carriedAt: null,
  }));

function typedAs(field: StopField, { inputs, conditions }: TypedBefore): StopField {
  const entry = (field.part === 'input' ? inputs : conditions)[field.name];
  const unit = entry === undefined ? null : entry.unit === '' ? field.unit : unitOf(entry.unit);
  return entry === undefined || unit === null ? field : { ...field, text: entry.text, unit, carriedAt: null };
}

/** The field that must be filled before the stop can be confirmed, or null. Inputs first; optional ones never. */
export function nextField(state: StopState): StopField | null {
  return state.fields.find((field) => field.required && field.text.trim() === '' && !state.without.includes(field.name)) ?? null;
}
export const activeField = (state: StopState): StopField | null =>
  state.fields.find((field) => field.name === state.active) ?? null;

/** What the person typed and did not leave empty, by part. */
export function entriesOf(state: StopState, part: StopField['part']): Record<string, Entry> {
  return Object.fromEntries(
    shownFields(state)
      .filter((field) => field.part === part && field.text.trim() !== '')
      .map((field) => [field.name, { text: field.text.trim(), unit: field.unit }]),
  );
}

/** A condition that is asked again with its own words: "Load". */
export const isCondition = (name: string): boolean => (CONDITION_NAMES as readonly string[]).includes(name);

const MAY_BE_NEGATIVE = new Set(['temperature', 'temperature-difference', 'voltage', 'level', 'pressure']);
/** Does a minus make sense here at all? */
export const takesMinus = (field: StopField): boolean => (field.expects.min ?? -1) < 0 && MAY_BE_NEGATIVE.has(kindOf(field.unit));
export const unitsFor = (field: StopField): UnitCode[] => unitsLike(field.unit);

export function press(state: StopState, action: StopAction): StopState {
  switch (action.is) {
    case 'type':
      return state.stage === 'enter' ? typed(state, action.character) : state;
    case 'delete':
      return state.stage === 'enter'
        ? withText(state, state.isFresh ? '' : (activeField(state)?.text.slice(0, -1) ?? ''))
        : state;
    case 'choose':
      return state.stage === 'enter' && state.fields.some((field) => field.name === action.name)
        ? {
            ...state,
            active: action.name,
            isFresh: state.fields.some((field) => field.name === action.name && field.text !== ''),
            wrong: null,
          }
        : state;
    case 'unit':
      return {
        ...state,
        fields: state.fields.map((field) => (sharesUnit(state, field) ? { ...field, unit: action.unit } : field)),
        wrong: null,
      };
    case 'confirm':
      return state.stage === 'enter' ? confirmed(state, action.ask) : state;
    case 'go-on-without': {
      const next = nextField(state);
      if (next === null || next.part === 'input') {
        // One of several like parts behind a stuck cover costs no reading: the verdict says what is missing.
        const inputs = state.fields.filter((field) => field.part === 'input' && field.required);
        if (next === null || inputs.every((field) => field.text.trim() === '')) return state;
      }
      const rest = { ...state, without: [...state.without, next.name], wrong: null };
      return { ...rest, active: nextField(rest)?.name ?? state.active, isFresh: false };
    }
    case 'go-on-without-rest': {
      const rest = restOfComponents(state).map(({ name }) => name);
      if (rest.length === 0) return state;
      const went = { ...state, without: [...state.without, ...rest], wrong: null };
      return { ...went, active: nextField(went)?.name ?? state.active, isFresh: false };
    }
    case 'way': {
      if (state.way === null || state.stage !== 'enter') return state;
      const turned = { ...state, way: action.way, fields: inWay(state.fields, action.way), without: [], wrong: null };
      return { ...turned, active: nextField(turned)?.name ?? state.active, isFresh: false };
    }
    case 'really':
      return state.stage === 'asked' ? { ...state, stage: 'verdict', isConfirmedUnlikely: true } : state;
    case 'change': {
      const first = shownFields(state).find((field) => field.part === 'input' && field.text !== '');
      return { ...state, stage: 'enter', question: null, active: first?.name ?? state.active, isFresh: true };
    }
    case 'read-again':
      return {
        ...state,
        stage: 'enter',
        question: null,
        isConfirmedUnlikely: false,
        without: [],
        wrong: null,
        isFresh: false,
        fields: state.fields.map((field) =>
          field.part === 'input' && field.carriedAt === null ? { ...field, text: '' } : field,
        ),
        active: shownFields(state).find((field) => field.part === 'input')?.name ?? state.active,
      };
    case 'could-not':
      return { ...state, stage: 'could-not' };
    case 'back':
      return { ...state, stage: 'enter' };
    case 'resume': {
      const fields = state.fields.map((field) => {
        const text = action.texts[field.name];
        return text === undefined || text === field.text ? field : { ...field, text, carriedAt: null };
      });
      const active = fields.some((field) => field.name === action.active) ? (action.active as string) : state.active;
      const way = fields.find((field) => field.way !== undefined && field.text !== '')?.way ?? state.way;
      return { ...state, fields: inWay(fields, way), way, active };
    }
  }
}

/** Like parts are read with one instrument: their unit changes together. */
function sharesUnit(state: StopState, field: StopField): boolean {
  const active = activeField(state);
  return (
    active !== null &&
    (field.name === active.name ||
      (field.part === 'input' && active.part === 'input' && field.expects.unit === active.expects.unit))
  );
}

function withText(state: StopState, text: string): StopState {
  return {
    ...state,
    isFresh: false,
    wrong: null,
    fields: state.fields.map((field) => (field.name === state.active ? { ...field, text, carriedAt: null } : field)),
  };
}

function typed(state: StopState, character: string): StopState {
  const field = activeField(state);
  if (field === null) return state;
  const before = state.isFresh ? '' : field.text;
  if (character === '-' || character === '−') {
    const text = field.text.startsWith('−') ? field.text.slice(1) : `−${field.text}`;
    return { ...withText(state, text), isFresh: state.isFresh && text === '−' };
  }
  if (character === '.' || character === ',') {
    if (/[.,]/.test(before)) return state;
    return withText(state, before === '' || before === '−' ? `${before}0${character}` : before + character);
  }
  if (!/^\d$/.test(character) || before.length >= MOST_DIGITS) return state;
  return withText(state, before === '0' ? character : before === '−0' ? `−${character}` : before + character);
}

const sayEmpty = ({ label, part }: StopField): string =>
  part === 'input'
    ? `${label} is still empty: type what you read.`
    : `${label} is still empty: type it, or go on without ${label.charAt(0).toLowerCase()}${label.slice(1)}.`;

function confirmed(state: StopState, ask: (state: StopState) => string | null): StopState {
  for (const field of shownFields(state)) {
    if (field.text.trim() === '') continue;
    const parsed = parseEntry({ text: field.text, unit: field.unit }, field.expects);
    if ('problem' in parsed)
      return { ...state, active: field.name, isFresh: true, wrong: { name: field.name, expected: parsed.expected } };
  }
  const next = nextField(state);
  if (next !== null) {
    // Pressed where the field is already open: a key that does nothing would leave a person standing there.
    const wrong = next.name === state.active ? { name: next.name, expected: sayEmpty(next) } : null;
    return { ...state, active: next.name, isFresh: false, wrong };
  }
  const question = state.isConfirmedUnlikely ? null : ask(state);
  return { ...state, stage: question === null ? 'verdict' : 'asked', question, wrong: null };
}
