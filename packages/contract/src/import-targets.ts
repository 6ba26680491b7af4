import type { ImportKind } from './imports.ts';

/** A target in words for the screen. */
export interface ImportTargetWords {
  readonly label: string;
  /** What belongs there, with an example where one helps. */
  readonly help: string;
}

const say = (label: string, help: string): ImportTargetWords => ({ label, help });

const DECIMAL = say('Decimal mark', 'comma or point; left out: comma in files with semicolons, else point.');
const WHERE = {
  tag: say('Tag of the asset', 'The tag as it stands on the machine, or an old one, such as P-101.'),
  letter: say('Letter of the point', 'Which point of the asset, such as a; may be left out where it has just one.'),
} as const;
const WHEN = {
  takenAt: say('Date and time', 'Date and time in one column, such as 2025-04-03 09:14.'),
  date: say('Date', 'The day, where the time stands in another column.'),
  time: say('Time of day', 'The time beside a date, such as 09:14.'),
  zone: say('Time zone', 'Zone of times that do not name their own, such as Europe/Dublin; left out: that of the site.'),
  hour: say('Hour for dates without one', 'One time of day for the whole file, such as 08:00.'),
  dateOrder: say('Order of day and month', 'day-first or month-first: how 03/04/2025 is meant.'),
  decimal: DECIMAL,
} as const;
const POINT = {
  letter: say('Letter of the point', 'Such as a; one row per point.'),
  pointName: say('Name of the point', 'Such as Bearing, drive end.'),
  quantity: say('What is measured', 'temperature, vibration-velocity, pressure …'),
  unit: say('Unit of the limits', 'Such as °C, °F, mm/s or bar.'),
  criterion: say('What is compared with the limits', 'absolute, rise-over-ambient, like-part-difference or above-base.'),
  watch: say('Watch limit', 'From here on: have an eye on it.'),
  plan: say('Plan limit', 'From here on: plan the work.'),
  soon: say('Soon limit', 'From here on: act within days.'),
  now: say('Now limit', 'From here on: act at once.'),
  direction: say('Bad is', 'high or low: on which side of the limits it is bad.'),
  source: say('Source of the limits', 'Where the figures come from.'),
  reason: say('Reason of the limits', 'Why these figures fit this machine.'),
  referenceLoad: say('Reference load', 'Load in % of rated at which readings are compared.'),
  minimumLoad: say('Least load', 'Below this load in % of rated a reading is not judged.'),
  ratedCurrent: say('Rated current', 'In amperes; the load follows from it.'),
  emissivity: say('Emissivity', 'Of the spot, 0 to 1.'),
  spot: say('Where to aim', 'Spot, distance and direction in words.'),
} as const;
const WORDS = say('Words', 'A remark that is kept as written.');
const amps = (part: string) => say(`Current of ${part}`, `Current through ${part}, in amperes.`);
const unitOf = (what: string, example: string) => say(`Unit of the ${what}`, `Unit where the cell has none, such as ${example}.`);

/**
 * Every target of every kind of file in words for the screen, in the order a person would look for them. A like part with a name of
 * its own has the target input:<name>, such as input:T4.
 */
export const IMPORT_TARGETS = {
  readings: {
    ...WHERE,
    ...WHEN,
    value: say('Value read', 'The figure read at the point.'),
    part: say('Temperature of the part', 'For a rise over the air: the part itself.'),
    air: say('Temperature of the air', 'For a rise over the air: the air around the part.'),
    warm: say('Warm side', 'For a difference between two sides: the warm one.'),
    cold: say('Cold side', 'For a difference between two sides: the cold one.'),
    L1: say('Phase L1', 'Temperature of L1, where like parts are compared.'),
    L2: say('Phase L2', 'Temperature of L2, where like parts are compared.'),
    L3: say('Phase L3', 'Temperature of L3, where like parts are compared.'),
    'amps:L1': amps('L1'),
    'amps:L2': amps('L2'),
    'amps:L3': amps('L3'),
    unit: say('Unit of the value', 'Unit where the cell has none, such as °C, °F, mm/s or bar.'),
    quantity: say('What is measured', 'temperature, vibration-velocity, pressure …; for points that are to be made.'),
    limit: say('Limit', 'The limit of a point that is to be made, in the unit of the value.'),
    load: say('Load', 'Load of the machine, in % of rated.'),
    current: say('Current', 'Current of the machine, from which its load follows.'),
    ambient: say('Air of the room', 'Air temperature around the machine.'),
    emissivity: say('Emissivity', 'As it was set at the instrument, 0 to 1.'),
    reflected: say('Reflected temperature', 'As it was set at the instrument.'),
    distance: say('Distance', 'Between instrument and target.'),
    angle: say('Angle', 'From straight on.'),
    minutesRunning: say('Running for', 'How long the machine had been running.'),
    humidity: say('Relative humidity', 'Of the air, in %.'),
    wind: say('Wind', 'At the part, where it stands outdoors.'),
    irradiance: say('Sun', 'On the collector, in W/m².'),
    steamPressure: say('Pressure of the steam', 'In the line before the trap.'),
    returnPressure: say('Pressure of the return', 'In the line behind the trap.'),
    pictureElement: say('One picture element', 'Angle that one element of the picture sees, in mrad.'),
    trueEmissivity: say('True emissivity', 'What the surface has, where the instrument was set to something else.'),
    trueReflected: say('True reflected temperature', 'What was reflected, where the instrument was set to something else.'),
    outdoor: say('Temperature outdoors', 'At the time of the reading.'),
    speed: say('Speed', 'Of the shaft.'),
    hoursSinceRegreasing: say('Hours since regreasing', 'Since the bearing was last greased.'),
    loadUnit: unitOf('load', '%'),
    currentUnit: unitOf('current', 'A'),
    ambientUnit: unitOf('air of the room', '°C or °F'),
    emissivityUnit: say('Unit of the emissivity', 'A plain number or %.'),
    reflectedUnit: unitOf('reflected temperature', '°C or °F'),
    distanceUnit: unitOf('distance', 'm'),
    angleUnit: unitOf('angle', '°'),
    minutesRunningUnit: unitOf('time running', 'min or h'),
    humidityUnit: unitOf('relative humidity', '%'),
    windUnit: unitOf('wind', 'm/s'),
    irradianceUnit: unitOf('sun', 'W/m²'),
    steamPressureUnit: unitOf('pressure of the steam', 'bar'),
    returnPressureUnit: unitOf('pressure of the return', 'bar'),
    pictureElementUnit: unitOf('picture element', 'mrad'),
    trueEmissivityUnit: say('Unit of the true emissivity', 'A plain number or %.'),
    trueReflectedUnit: unitOf('true reflected temperature', '°C or °F'),
    outdoorUnit: unitOf('temperature outdoors', '°C or °F'),
    speedUnit: unitOf('speed', '1/min'),
    hoursSinceRegreasingUnit: unitOf('time since regreasing', 'h'),
    running: say('Running', 'yes or no: did the machine run when it was read?'),
    instrument: say('Instrument', 'What it was read with, such as Gun 2.'),
    words: WORDS,
  },
  work: {
    ...WHERE,
    letter: say('Letter of the point', 'Which point was worked on, such as a; empty: the whole asset.'),
    ...WHEN,
    work: say('What was done', 'regreased, tightened, cleaned, adjusted, repaired, replaced or instrument-changed.'),
    words: WORDS,
  },
  assets: {
    site: say('Site', 'Name of the site; a new name makes a new site.'),
    zone: say('Time zone of the site', 'Needed for a new site, such as Europe/Dublin.'),
    building: say('Building', 'Name of the building; a new name makes a new one.'),
    room: say('Room', 'Name of the room; a new name makes a new one.'),
    tag: say('Tag of the asset', 'As it stands on the machine; rows of one tag are one asset.'),
    name: say('Name', 'What people call the machine.'),
    template: say('Template', 'Brings points and limits of a class of machine, such as pump.'),
    criticality: say('Criticality', 'A, B or C.'),
    criticalityReason: say('Reason of the criticality', 'Why A, B or C.'),
    lifeSafety: say('Protects lives', 'yes or no: a fire pump and the like.'),
    ...POINT,
    decimal: DECIMAL,
  },
  points: {
    tag: say('Tag of the asset', 'An asset of the register, such as P-101.'),
    ...POINT,
    decimal: DECIMAL,
  },
  limits: {
    ...WHERE,
    unit: POINT.unit,
    criterion: say('What is compared with the limits', 'Left out: what the point is compared by as a rule.'),
    direction: POINT.direction,
    watch: POINT.watch,
    plan: POINT.plan,
    soon: POINT.soon,
    now: POINT.now,
    source: POINT.source,
    reason: POINT.reason,
    decimal: DECIMAL,
  },
  routes: {
    code: say('Code of the route', 'Short, such as RT1; rows of one code are one route, in walking order.'),
    name: say('Name of the route', 'What people call it; may stand in its first row only.'),
    rule: say('How often', 'every Tuesday, every second Thursday, every month on the first Monday; or a rule of RFC 5545.'),
    start: say('First planned time', 'On the clock of the site, such as 2026-05-04 08:00.'),
    hour: WHEN.hour,
    dateOrder: WHEN.dateOrder,
    daysBefore: say('Days before', 'So many days before the planned one it may be walked; left out: none.'),
    daysAfter: say('Days after', 'So many days after the planned one it may be walked; left out: none.'),
    ...WHERE,
  },
} as const satisfies Readonly<Record<ImportKind, Readonly<Record<string, ImportTargetWords>>>>;
