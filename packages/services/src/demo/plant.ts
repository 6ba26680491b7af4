/**
 * The two invented houses: rooms, machines, points with limits, and how each point behaves when nothing is wrong.
 * Tags, figures and stories belong together; what happened beyond the ordinary stands in stories.ts.
 */
import { type Criticality, type Hazard, type PointDraft, REGREASING_GATE_HOURS } from '@heatround/domain';
import {
  bearingTemperature,
  exchangerApproach,
  frameOverBase,
  gearboxBearingFirst,
  hotWaterFlow,
  hotWaterReturn,
  type LimitWords,
  phaseDifference,
  recoolerApproach,
  sealHousing,
  terminalRise,
  vibrationVelocity,
} from './limit-reasons.ts';

export interface DemoPoint {
  readonly letter: string;
  readonly draft: Omit<PointDraft, 'id' | 'letter'>;
  readonly spot: string;
  readonly limits: LimitWords;
  /** The usual figure in the unit of the limits (above base: the temperature), at reference load and air. */
  readonly level: number;
  /** Cold side of an approach, °C; absent: that of hot water. */
  readonly coldC?: number;
}

export interface DemoAsset {
  readonly tag: string;
  readonly name: string;
  readonly template: string;
  readonly criticality: Criticality;
  readonly criticalityReason: string;
  readonly hazards: readonly Hazard[];
  readonly room: string;
  /** Load that is usual at the time of the round, % of rated, and how far it swings. */
  readonly usualLoad: number;
  readonly loadSwing: number;
  readonly points: readonly DemoPoint[];
}

export interface DemoRoom {
  readonly name: string;
  /** Air at 10 °C outside, and how much of a change outside reaches the room. */
  readonly airC: number;
  readonly follows: number;
}

export interface DemoHouse {
  readonly key: string;
  readonly name: string;
  readonly site: string;
  readonly buildings: readonly { name: string; rooms: readonly DemoRoom[] }[];
  readonly assets: readonly DemoAsset[];
}

const room = (name: string, airC: number, follows: number): DemoRoom => ({ name, airC, follows });

/** Bearing or seal on a painted housing, judged as it is; readings compare at the usual load and air. */
const housing = (
  letter: string,
  name: string,
  spot: string,
  limits: LimitWords,
  level: number,
  usual: { load: number; airC: number },
): DemoPoint => ({
  letter,
  draft: {
    name,
    quantity: 'temperature',
    referenceLoadPercent: usual.load,
    referenceAmbientC: usual.airC,
    emissivity: 0.93,
    regreasingGateHours: limits === sealHousing ? 0 : REGREASING_GATE_HOURS.usual,
  },
  spot,
  limits,
  level,
});

const vibration = (letter: string, name: string, spot: string, level: number): DemoPoint => ({
  letter,
  draft: { name, quantity: 'vibration-velocity', regreasingGateHours: 0 },
  spot,
  limits: vibrationVelocity,
  level,
});

const frame = (letter: string, base: number, level: number, usual: { load: number; airC: number }): DemoPoint => ({
  letter,
  draft: {
    name: 'Motor frame above base',
    quantity: 'above-base',
    basis: 'corrected',
    referenceLoadPercent: usual.load,
    referenceAmbientC: usual.airC,
    emissivity: 0.93,
    base: { value: base, state: 'confirmed' },
    regreasingGateHours: 0,
  },
  spot: 'Side of the motor at mid-length, between the fins, one metre away, square on.',
  limits: frameOverBase,
  level,
});

const rise = (letter: string, name: string, spot: string, level: number): DemoPoint => ({
  letter,
  draft: { name, quantity: 'rise-over-ambient', emissivity: 0.95, regreasingGateHours: 0 },
  spot,
  limits: terminalRise,
  level,
});

const phases = (letter: string, name: string, spot: string, level: number, ratedCurrentA: number | null = null): DemoPoint => ({
  letter,
  draft: {
    name,
    quantity: 'like-part-difference',
    emissivity: 0.95,
    regreasingGateHours: 0,
    ...(ratedCurrentA === null ? {} : { ratedCurrentA, needs: ['current'] }),
  },
  spot,
  limits: phaseDifference,
  level,
});

const INCOMER_SPOT =
  'Hottest of the three incomer terminals, on the insulation right beside the lug; air at the foot of the panel.';
const INCOMER_PHASES = 'All three incomer terminals in one picture, on the insulation right beside each lug.';

const panel = (
  tag: string,
  name: string,
  at: string,
  usualLoad: number,
  criticality: readonly [Criticality, string],
  points: readonly DemoPoint[],
): DemoAsset => ({
  tag,
  name,
  template: 'switch-panel',
  criticality: criticality[0],
  criticalityReason: criticality[1],
  hazards: ['live-panel', 'lone-work'],
  room: at,
  usualLoad,
  loadSwing: tag.startsWith('E-') ? 2 : 5,
  points,
});

const feedPump = (
  tag: string,
  name: string,
  why: string,
  usualLoad: number,
  levels: readonly [number, number, number],
): DemoAsset => ({
  tag,
  name,
  template: 'pump',
  criticality: 'A',
  criticalityReason: why,
  hazards: ['rotating', 'hot-surface', 'hot-water', 'pressure', 'automatic-start'],
  room: 'Feed pump bay',
  usualLoad,
  loadSwing: 3,
  points: [
    housing(
      'a',
      'Motor bearing, drive end',
      'Painted bearing housing at the coupling end of the motor, half a metre away, square on.',
      bearingTemperature([70, 80, 90, 100]),
      levels[0],
      { load: usualLoad, airC: 27 },
    ),
    vibration(
      'b',
      'Pump bearing',
      'Bearing housing of the pump beside the coupling, horizontally, on the filed flat.',
      levels[1],
    ),
    housing(
      'c',
      'Seal housing',
      'Tape mark on the seal housing, from the walkway side, guard in place.',
      sealHousing,
      levels[2],
      { load: usualLoad, airC: 27 },
    ),
  ],
});

const pipe = (letter: string, name: string, limits: LimitWords, level: number): DemoPoint => ({
  letter,
  draft: { name, quantity: 'temperature', loadFamily: 'none', infrared: false, needs: [], regreasingGateHours: 0 },
  spot: `${name}: fixed thermometer in the pocket beside the store, read to half a degree or better.`,
  limits,
  level,
});

const hotWater = (tag: string, name: string, at: string, levels: readonly [number, number, number]): DemoAsset => ({
  tag,
  name,
  template: 'hot-water-circuit',
  criticality: 'A',
  criticalityReason: 'Patients wash and drink from it; a lapse is a matter for the hygiene officer.',
  hazards: ['hot-water', 'hot-surface', 'automatic-start'],
  room: at,
  usualLoad: 100,
  loadSwing: 0,
  points: [
    pipe('a', 'Flow', hotWaterFlow, levels[0]),
    pipe('b', 'Circulation return', hotWaterReturn, levels[1]),
    {
      letter: 'c',
      draft: { name: 'Exchanger approach', quantity: 'approach', regreasingGateHours: 0 },
      spot: 'Thermometers at the heating inlet (warm) and the hot-water outlet (cold) of the plates, read together while hot water is drawn.',
      limits: exchangerApproach,
      level: levels[2],
    },
  ],
});

export const TARNWICK: DemoHouse = {
  key: 'tarnwick',
  name: 'Tarnwick Vale Hospital Campus',
  site: 'Tarnwick Vale',
  buildings: [
    {
      name: 'Ward Block (W)',
      rooms: [
        room('Basement panel room', 22, 0.25),
        room('Theatre panel room', 21, 0.2),
        room('Lift and vent panel room', 21, 0.4),
        room('Hot-water plant room', 26, 0.3),
        room('Ward extract plant room', 22, 0.4),
      ],
    },
    {
      name: 'Boiler House & Laundry (B)',
      rooms: [
        room('Feed pump bay', 27, 0.35),
        room('Boiler house panel room', 25, 0.35),
        room('Laundry finishing hall', 25, 0.4),
      ],
    },
    {
      name: 'Energy Centre (E)',
      rooms: [room('Switch room A', 21, 0.2), room('Switch room B', 21, 0.2), room('Recooler deck', 14, 0.8)],
    },
  ],
  assets: [
    panel(
      'W-LVP-01',
      'Main panel of the ward block',
      'Basement panel room',
      64,
      ['A', 'Feeds all wards; there is no second way in.'],
      [
        rise('a', 'Incomer terminals over air', INCOMER_SPOT, 20),
        phases('b', 'Incomer phases', INCOMER_PHASES, 1.2),
        phases(
          'c',
          'Way 4 phases',
          'The three terminals of way 4 in one picture, on the insulation beside each lug; clamp the outgoing cable.',
          1.3,
          250,
        ),
      ],
    ),
    panel(
      'W-LVP-02',
      'Theatre essential panel',
      'Theatre panel room',
      60,
      ['A', 'Operating theatres hang on it; the UPS covers ten minutes.'],
      [
        rise('a', 'Incomer terminals over air', INCOMER_SPOT, 18),
        phases('b', 'Incomer phases', INCOMER_PHASES, 1.5),
        phases(
          'c',
          'Way 7 phases',
          'The three terminals of way 7 in one picture, on the insulation beside each lug; clamp the outgoing cable.',
          1.2,
          160,
        ),
      ],
    ),
    panel(
      'W-LVP-03',
      'Lift and ventilation panel',
      'Lift and vent panel room',
      60,
      ['B', 'Lifts and ward air stop, but two bed lifts hang on another panel.'],
      [
        rise('a', 'Incomer terminals over air', INCOMER_SPOT, 19),
        phases('b', 'Incomer phases', INCOMER_PHASES, 1.3),
        {
          ...rise(
            'c',
            'Fuse clip way 2 over air',
            'Hottest clip of way 2, on the painted lug beside it; air at the foot of the panel.',
            22,
          ),
          draft: { name: 'Fuse clip way 2 over air', quantity: 'rise-over-ambient', emissivity: 0.93, regreasingGateHours: 0 },
        },
      ],
    ),
    hotWater('W-DHW-01', 'Hot water, east wing', 'Hot-water plant room', [63.4, 58.9, 3.2]),
    hotWater('W-DHW-02', 'Hot water, west wing', 'Hot-water plant room', [63.1, 58, 3.5]),
    feedPump(
      'B-FWP-01',
      'Boiler feed pump 1, duty',
      'Without feed water both boilers trip; the standby needs a person to start it.',
      80,
      [57, 1.3, 76],
    ),
    feedPump('B-FWP-02', 'Boiler feed pump 2, standby', 'The only one left when pump 1 fails.', 76, [54, 1.15, 70]),
    {
      tag: 'B-IRO-01',
      name: 'Ironer 1, main drive',
      template: 'gearbox-drive',
      criticality: 'B',
      criticalityReason: 'Linen for three days is in store; after that it has to be sent out.',
      hazards: ['rotating', 'hot-surface', 'steam', 'automatic-start'],
      room: 'Laundry finishing hall',
      usualLoad: 78,
      loadSwing: 3,
      points: [
        housing(
          'a',
          'Gearbox bearing, output',
          'Painted bearing cap at the output shaft, below the maker’s plate, half a metre away, square on.',
          gearboxBearingFirst,
          60,
          { load: 78, airC: 25 },
        ),
        vibration('b', 'Gearbox', 'Output bearing cap, horizontally, on the filed flat.', 1.3),
        frame('c', 52, 53.5, { load: 78, airC: 25 }),
      ],
    },
    panel(
      'B-LVP-01',
      'Boiler house panel',
      'Boiler house panel room',
      70,
      ['A', 'Both boilers and the feed pumps stop with it.'],
      [
        rise('a', 'Incomer terminals over air', INCOMER_SPOT, 20),
        phases('b', 'Incomer phases', INCOMER_PHASES, 1.1),
        phases(
          'c',
          'Burner fan way phases',
          'The three terminals of the burner fan way in one picture; clamp the outgoing cable.',
          1.4,
          63,
        ),
      ],
    ),
    panel(
      'E-LVP-01',
      'Main switchboard A',
      'Switch room A',
      97,
      ['A', 'Half the campus; switching over to B takes an hour and a permit.'],
      [
        rise('a', 'Incomer terminals over air', `${INCOMER_SPOT} Load from the meter, in % of the breaker’s setting.`, 21),
        phases(
          'b',
          'Busbar joint phases',
          'The taped marks on the joint of the three bars behind door 3, in one picture through the window.',
          2,
        ),
        rise(
          'c',
          'Coupler over air',
          'Taped mark on the hottest jaw of the coupler, through the window; air at the foot of the board.',
          17,
        ),
      ],
    ),
    panel(
      'E-LVP-02',
      'Main switchboard B',
      'Switch room B',
      88,
      ['A', 'The other half of the campus; switching over to A takes an hour and a permit.'],
      [
        rise('a', 'Incomer terminals over air', `${INCOMER_SPOT} Load from the meter, in % of the breaker’s setting.`, 19),
        phases(
          'b',
          'Busbar joint phases',
          'The taped marks on the joint of the three bars behind door 3, in one picture through the window.',
          1,
        ),
        rise(
          'c',
          'Coupler over air',
          'Taped mark on the hottest jaw of the coupler, through the window; air at the foot of the board.',
          15,
        ),
      ],
    ),
    {
      tag: 'W-AHU-02',
      name: 'Ward extract fan',
      template: 'motor',
      criticality: 'B',
      criticalityReason: 'The wards get stuffy within hours; windows can be opened in the milder months.',
      hazards: ['rotating', 'automatic-start', 'lone-work'],
      room: 'Ward extract plant room',
      usualLoad: 82,
      loadSwing: 2,
      points: [
        housing(
          'a',
          'Motor bearing, drive end',
          'Painted bearing housing on the pulley side, from outside the guard, half a metre away.',
          bearingTemperature([70, 80, 90, 100]),
          54,
          { load: 82, airC: 22 },
        ),
        vibration('b', 'Fan bearing', 'Bearing block on the belt side, horizontally, from outside the guard.', 1.3),
        frame('c', 49, 50, { load: 82, airC: 22 }),
      ],
    },
    {
      tag: 'E-RCL-02',
      name: 'Recooler 2',
      template: 'motor',
      criticality: 'B',
      criticalityReason: 'On a hot day the chiller needs both; in spring one is enough.',
      hazards: ['rotating', 'automatic-start', 'roof'],
      room: 'Recooler deck',
      usualLoad: 80,
      loadSwing: 3,
      points: [
        vibration('a', 'Fan bearing', 'Bearing block under the fan, from the service platform, horizontally.', 1.4),
        frame('b', 44, 45, { load: 80, airC: 16 }),
        {
          letter: 'c',
          draft: { name: 'Outlet over design', quantity: 'approach', regreasingGateHours: 0 },
          spot: 'Water leaving the coil (warm) and the design figure for the air of the day from the card on the door (cold).',
          limits: recoolerApproach,
          level: 1.1,
          coldC: 27,
        },
      ],
    },
  ],
};

export const BRACKWATER: DemoHouse = {
  key: 'brackwater',
  name: 'Brackwater Civic Baths',
  site: 'Brackwater',
  buildings: [
    {
      name: 'Pool hall',
      rooms: [room('Filter cellar', 24, 0.2), room('Baths panel room', 23, 0.2), room('Shower plant room', 26, 0.2)],
    },
  ],
  assets: [
    {
      tag: 'P-PMP-01',
      name: 'Pool circulation pump',
      template: 'pump',
      criticality: 'B',
      criticalityReason: 'The pool closes after four hours without circulation; nobody is hurt.',
      hazards: ['rotating', 'automatic-start'],
      room: 'Filter cellar',
      usualLoad: 85,
      loadSwing: 2,
      points: [
        housing(
          'a',
          'Motor bearing, drive end',
          'Painted bearing housing at the coupling, half a metre away, square on.',
          bearingTemperature([70, 80, 90, 100]),
          55,
          { load: 85, airC: 24 },
        ),
        vibration('b', 'Pump bearing', 'Bearing housing of the pump, horizontally.', 1.2),
      ],
    },
    {
      tag: 'P-FAN-01',
      name: 'Pool hall supply fan',
      template: 'motor',
      criticality: 'C',
      criticalityReason: 'The hall gets damp within a day; windows can be opened.',
      hazards: ['rotating', 'automatic-start'],
      room: 'Filter cellar',
      usualLoad: 80,
      loadSwing: 2,
      points: [vibration('a', 'Fan bearing', 'Bearing block on the belt side, horizontally, from outside the guard.', 1.5)],
    },
    panel(
      'P-LVP-01',
      'Baths main panel',
      'Baths panel room',
      58,
      ['B', 'The house closes without it; nobody is hurt.'],
      [rise('a', 'Incomer terminals over air', INCOMER_SPOT, 18), phases('b', 'Incomer phases', INCOMER_PHASES, 1.3)],
    ),
    {
      ...hotWater('P-DHW-01', 'Showers, hot water', 'Shower plant room', [63, 58.4, 3.3]),
      criticality: 'B',
      criticalityReason: 'The public showers here; a lapse closes the showers, not the pool.',
    },
  ],
};
