import { LEAST_FACTOR, MOULD_PERCENT } from '../envelope/index.ts';
import { NO_FLOW_K } from '../heat/index.ts';
import { AT_LINE_K, NO_STEAM_K } from '../steam/index.ts';
import { bearing, COMMON, limits, temperature } from './building-blocks.ts';
import type { AssetTemplate, TemplatePoint } from './types.ts';

const MILD = { weather: 'mild' } as const;
const COLD = { weather: 'cold' } as const;
/** Design spread of a circuit of radiators, K; with another design the cold limits move with it. */
const DESIGN_SPREAD_K = 15;
/** The same of ceiling panels, K. */
const DESIGN_PANEL_K = 10;

const percentOver = (design: number) => [1.25, 1.5, 1.75, 2].map((factor) => factor * design) as [number, number, number, number];

/** Both sides in both weathers: mild first. */
const spreadLimits = (design: number, tooSmall: readonly [number, number, number, number]) => [
  {
    ...limits(
      'absolute',
      [10, 15, 20, null],
      COMMON,
      'In mild weather little heat is asked for; a spread of 20 K and more says that this circuit gets too little water: hydraulic balance.',
    ),
    holds: MILD,
  },
  {
    ...limits(
      'absolute',
      [5, null, null, null],
      COMMON,
      'Below 5 K more water goes round than the heat needs: overflow, and power of the pump for nothing.',
      'low',
    ),
    holds: MILD,
  },
  {
    ...limits(
      'absolute',
      percentOver(design),
      COMMON,
      `A quarter, half, three quarters more than the design spread of ${design} K, and double of it: starved or unbalanced. With another design the figures move with it.`,
    ),
    holds: COLD,
  },
  {
    ...limits(
      'absolute',
      [...tooSmall],
      COMMON,
      `In cold weather the design spread of ${design} K should come about; far below it flow and return mix, or the circuit is oversupplied.`,
      'low',
    ),
    holds: COLD,
  },
];

const spread = (letter: string, spot: string, own: TemplatePoint['limits']): TemplatePoint => ({
  letter,
  name: 'Flow and return',
  quantity: 'spread',
  spot,
  decimals: 1,
  loadFamily: 'none',
  needs: ['outdoor', 'ambient'],
  infrared: false,
  regreasingGateHours: 0,
  limits: own,
});

const noFlow = limits(
  'rise-over-ambient',
  [null, null, NO_FLOW_K, null],
  COMMON,
  'A return hardly warmer than its room has no flow: a closed valve, air, or a pump that turns nothing.',
  'low',
);
const strips = limits(
  'like-part-difference',
  [3, 8, 12, 16],
  COMMON,
  'Strips of one panel at one supply read alike; a cold one holds air or sludge, or its tube is blocked.',
);
const overDewPoint = limits(
  'absolute',
  [3, 2, 1, 0],
  COMMON,
  'A cooled ceiling nearer than this to the dew point of its room begins to drip: raise the flow or dry the air.',
  'low',
);
const coolingSpread = limits(
  'absolute',
  [5, 6, 8, 10],
  COMMON,
  'Cooled panels are laid out for 2 to 4 K; a larger spread says that too little water goes through.',
);
const coldTrap = limits(
  'absolute',
  [null, AT_LINE_K, NO_STEAM_K, null],
  COMMON,
  'An inlet so far below the steam of its line stands in water, or gets no steam. A trap that holds water back on purpose has other figures.',
);
const hotReturn = limits(
  'over-return',
  [null, AT_LINE_K, null, null],
  COMMON,
  'Suspect passing steam, confirm by ultrasound: a return under pressure, or a neighbour that blows through, looks the same.',
);
const trapSound = limits(
  'above-base',
  [6, 10, 20, 30],
  COMMON,
  'Ultrasound over what this trap makes when it is closed: steam that passes hisses without a pause.',
);
const wallHumidity = limits(
  'absolute',
  [null, MOULD_PERCENT, 100, null],
  'ISO 13788: 80 % at the surface for mould, 100 % for water',
  'Air that touches a cold spot holds no more water: at 80 % mould can grow, at 100 % it is wet. A snapshot, so an indication only.',
);
const wallFactor = limits(
  'surface-factor',
  [null, LEAST_FACTOR, null, null],
  'DIN 4108-2: f_Rsi at least 0.70',
  'Too little of the warmth of the room reaches this spot: a thermal bridge or missing insulation.',
  'low',
);
const glassOfTubes = limits(
  'like-part-difference',
  [null, 5, 15, 25],
  COMMON,
  'The imager reads the outer glass: a warm tube has lost its vacuum and heats the sky. One that stands out from its neighbours by 5 K is unlike them.',
);
const headsOfTubes = limits(
  'like-part-difference',
  [null, 5, 15, 25],
  COMMON,
  'Read at the heads in the header: a cold head brings no heat, its heat pipe has failed or has lost contact.',
);
const headerSpread = limits(
  'absolute',
  [4, 3, 2, 1],
  COMMON,
  'Under a strong sun a header warms its fluid by several kelvin; the figure of commissioning goes before this one.',
  'low',
);

const tubes = Array.from({ length: 20 }, (_, index) => `${index + 1}`);

const array = (
  letter: string,
  name: string,
  spot: string,
  emissivity: number,
  parts: readonly string[],
  own: TemplatePoint['limits'],
  needs: TemplatePoint['needs'],
): TemplatePoint => ({
  letter,
  name,
  quantity: 'neighbour-difference',
  spot,
  decimals: 1,
  loadFamily: 'none',
  infrared: true,
  emissivity,
  needs,
  parts,
  regreasingGateHours: 0,
  limits: own,
});

/** Water and steam that carry heat or cold, the sun that warms it, and walls that keep it. */
export const WATER_AND_SUN: readonly AssetTemplate[] = [
  {
    key: 'heating-circuit',
    name: 'Heating circuit',
    what: 'Flow and return by weather, the return over its room, and the bearing of the pump.',
    hazards: ['hot-water', 'hot-surface', 'automatic-start'],
    points: [
      spread(
        'a',
        'Flow and return pipe of the circuit, by contact under the lagging, after half an hour of one state of the pump.',
        spreadLimits(DESIGN_SPREAD_K, [12, 9, 6, 4]),
      ),
      temperature('b', 'Return over its room', 'Return pipe of the circuit, by contact; air beside it.', [noFlow], {
        loadFamily: 'none',
        infrared: false,
        emissivity: null,
        needs: ['ambient'],
      }),
      {
        ...bearing('c', 'Circulation pump bearing', 'Painted housing beside the shaft, half a metre away, square on.'),
        loadFamily: 'none',
        needs: ['ambient'],
      },
    ],
  },
  {
    key: 'ceiling-panel-heating',
    name: 'Ceiling radiant panel, heating',
    what: 'Strips of the panel against each other, and its flow and return by weather.',
    hazards: ['hot-water', 'ladder'],
    points: [
      array(
        'a',
        'Strips of the panel',
        'All strips in one picture from below, square on, painted face; at steady supply for half an hour.',
        0.93,
        ['1', '2', '3', '4', '5', '6'],
        [strips],
        ['minutesRunning'],
      ),
      spread(
        'b',
        'Flow and return at the panel, by contact, at steady supply for half an hour.',
        spreadLimits(DESIGN_PANEL_K, [8, 6, 4, 2]),
      ),
    ],
  },
  {
    key: 'solar-array',
    name: 'Solar tube array',
    what: 'Glass of the tubes and their heads in the header, each against its neighbours, and how far the header warms its fluid.',
    hazards: ['roof', 'hot-surface', 'hot-water', 'pressure'],
    points: [
      array(
        'a',
        'Glass of the tubes',
        'Outer glass of all tubes of one header, within five minutes, square on, no sun or own body in the reflection.',
        0.92,
        tubes,
        [glassOfTubes],
        ['irradiance'],
      ),
      array(
        'b',
        'Heads of the tubes',
        'Heads in the header of the same tubes, cover open, on their dull faces or tape.',
        0.93,
        tubes,
        [headsOfTubes],
        ['irradiance'],
      ),
      {
        letter: 'c',
        name: 'Header in and out',
        quantity: 'approach',
        spot: 'Warm: fluid out of the header. Cold: fluid into it. Both in their pockets, pump running for half an hour.',
        decimals: 1,
        loadFamily: 'none',
        needs: ['irradiance'],
        infrared: false,
        regreasingGateHours: 0,
        limits: [headerSpread],
      },
    ],
  },
  {
    key: 'ceiling-panel-cooling',
    name: 'Ceiling radiant panel, cooling',
    what: 'How far the coldest strip stays above the dew point of the room, and the spread of its water.',
    hazards: ['ladder'],
    points: [
      {
        letter: 'a',
        name: 'Coldest strip over the dew point',
        quantity: 'over-dew-point',
        spot: 'Coldest spot of the painted face, square on; air and humidity beside it, not under a vent.',
        decimals: 1,
        loadFamily: 'none',
        needs: ['humidity'],
        infrared: true,
        emissivity: 0.93,
        regreasingGateHours: 0,
        limits: [overDewPoint],
      },
      {
        letter: 'b',
        name: 'Return less flow',
        quantity: 'approach',
        spot: 'Warm: return of the panel. Cold: its flow. By contact, at steady supply for half an hour.',
        decimals: 1,
        loadFamily: 'none',
        needs: ['minutesRunning'],
        infrared: false,
        regreasingGateHours: 0,
        limits: [coolingSpread],
      },
    ],
  },
  {
    key: 'steam-trap',
    name: 'Steam trap',
    what: 'Inlet and outlet against the steam of the line and of the return, and its sound over what it makes when closed.',
    hazards: ['steam', 'hot-surface', 'pressure'],
    points: [
      {
        letter: 'a',
        name: 'Inlet and outlet',
        quantity: 'steam-trap',
        spot: 'On tape or bright metal roughened and painted, a hand’s breadth before and behind the trap. Without a return pressure it is an open return.',
        decimals: 0,
        loadFamily: 'none',
        needs: ['steamPressure'],
        infrared: true,
        emissivity: 0.95,
        regreasingGateHours: 0,
        limits: [coldTrap, hotReturn],
      },
      {
        letter: 'b',
        name: 'Ultrasound',
        quantity: 'sound-level',
        spot: 'Probe on the body of the trap, outlet side, for a whole minute; enter the level that stays.',
        decimals: 0,
        loadFamily: 'none',
        needs: [],
        infrared: false,
        regreasingGateHours: 0,
        limits: [trapSound],
      },
    ],
  },
  {
    key: 'envelope-spot',
    name: 'Spot of a wall or window',
    what: 'Humidity at the surface and how much of the warmth of the room reaches it.',
    hazards: ['ladder'],
    points: [
      {
        letter: 'a',
        name: 'Coldest spot',
        quantity: 'surface-humidity',
        spot: 'Coldest spot of plaster or frame, square on, no sun and furniture away for 12 h; air and humidity a hand’s breadth beside it.',
        decimals: 0,
        loadFamily: 'none',
        needs: ['humidity', 'outdoor'],
        infrared: true,
        emissivity: 0.93,
        regreasingGateHours: 0,
        limits: [wallHumidity, wallFactor],
      },
    ],
  },
];
