import { DISCHARGE_LIMITS } from '../cooling/index.ts';
import {
  bearing,
  COMMON,
  type Figures,
  frame,
  limits,
  overBase,
  sealOverBase,
  temperature,
  vibration,
} from './building-blocks.ts';
import type { AssetTemplate } from './types.ts';

/** Trip of an oil-injected screw compressor; the one on the plate of the machine goes first. */
const SCREW_TRIP_C = 110;

const airOutlet = limits(
  'absolute',
  [20, 15, 10, 5].map((below) => SCREW_TRIP_C - below) as unknown as Figures,
  COMMON,
  `20, 15, 10 and 5 K below the trip of ${SCREW_TRIP_C} °C usual for oil-injected screws; with another trip on the plate the figures move with it.`,
);
const coolingHousing = limits(
  'absolute',
  [null, 52, null, null],
  COMMON,
  'The housing of a compressor that cools a computer room stays below 52 °C when valves, charge and condenser are in order.',
);
const { refrigerant } = DISCHARGE_LIMITS;
const dischargeLine = limits(
  'absolute',
  [refrigerant.watch, refrigerant.plan, refrigerant.soon, refrigerant.now],
  COMMON,
  'Oil breaks down above about 125 °C at the valve, and the line outside is some kelvin cooler; a figure of the maker goes first.',
);
const condenserApproach = limits(
  'absolute',
  [3, 4, 6, 8],
  COMMON,
  'Condensing temperature less water outlet: each kelvin more is dirt on the tubes or gas that does not condense, and costs about 3 % of the power.',
);
const recooledFluid = limits(
  'absolute',
  [null, 40, null, null],
  COMMON,
  'Fluid that comes back from the recooler of an air-conditioning plant above 40 °C: dirty fins, a fan that does not run, or air blown back.',
);
const startBattery = limits(
  'absolute',
  [25.2, 24.8, 24.4, 24],
  COMMON,
  'A rested 24 V battery at 25.2 V is charged, at 24.0 V hardly half; below that the engine may not turn.',
  'low',
);

const noFlowPressure = limits(
  'absolute',
  [3, 5, 8, 12],
  'EN 12845: weekly run against the acceptance curve; figures common practice, no standard',
  'A pump that no longer reaches its curve is worn or throttled and will fail those who rely on it.',
);
const outletDewPoint = limits(
  'absolute',
  [3, 5, 7, 10],
  'ISO 8573-1, class 4: pressure dew point of 3 °C at most (from memory)',
  'Wetter air drops water in pipes and valves; with a drier class bought, the figures of that class go here.',
);

const dischargeOverCalculated = limits(
  'absolute',
  [null, 15, 25, null],
  COMMON,
  'Hotter than compression alone explains: leaking valves, worn rings, or a cooler that does not cool.',
);
const coolerOverClean = limits(
  'above-base',
  [2, 4, 6, 8],
  COMMON,
  'So much further from the air than when it was clean, at like load: dirty fins, a fan that does not run, or air blown back.',
);

const motorBearing = (letter: string) =>
  bearing(
    letter,
    'Motor drive-end bearing',
    'Housing of the motor’s drive-end bearing, painted face, half a metre away, square on.',
  );

/** Machines that turn, beside motor, pump and gearbox. */
export const MACHINES: readonly AssetTemplate[] = [
  {
    key: 'fan',
    name: 'Fan with motor',
    what: 'Motor bearing, fan bearing and its vibration, and the motor frame over its own base.',
    hazards: ['rotating', 'automatic-start'],
    points: [
      motorBearing('a'),
      bearing('b', 'Fan bearing', 'Housing of the fan bearing, painted face, half a metre away, square on, guard in place.'),
      vibration('c', 'Fan vibration', 'On the fan bearing housing, horizontally, sensor on bare flat metal.'),
      frame('d', 'Motor frame above base'),
    ],
  },
  {
    key: 'air-compressor',
    name: 'Air compressor',
    what: 'Outlet of the air end, motor bearing, and vibration at the air end.',
    hazards: ['rotating', 'hot-surface', 'pressure', 'automatic-start'],
    points: [
      temperature(
        'a',
        'Air-end outlet',
        'Outlet pipe of the air end, on tape or paint, a hand’s breadth behind the flange; or as its own display shows it.',
        [airOutlet],
      ),
      motorBearing('b'),
      vibration('c', 'Air-end vibration', 'On the drive-end bearing housing of the air end, sensor on bare flat metal.'),
      temperature(
        'd',
        'Dew point of the outlet air',
        'Pressure dew point as the dryer or its own sensor shows it.',
        [outletDewPoint],
        {
          infrared: false,
          emissivity: null,
          loadFamily: 'none',
          needs: [],
        },
      ),
    ],
  },
  {
    key: 'refrigeration-compressor',
    name: 'Refrigeration compressor',
    what: 'Housing and discharge line of a compressor that cools, and its vibration.',
    hazards: ['rotating', 'hot-surface', 'pressure', 'refrigerant', 'automatic-start'],
    points: [
      temperature('a', 'Housing', 'Middle of the housing, painted face, half a metre away, after half an hour of running.', [
        coolingHousing,
      ]),
      temperature(
        'b',
        'Discharge line',
        'Discharge pipe a hand’s breadth behind the compressor, on tape or paint, lagging lifted only where the site allows it.',
        [dischargeLine],
      ),
      vibration('c', 'Compressor vibration', 'On the foot of the compressor or its bearing housing, sensor on bare flat metal.'),
      {
        letter: 'd',
        name: 'Discharge over the calculated one',
        quantity: 'discharge-over-calculated',
        spot: 'Suction and discharge line by contact a hand’s breadth from the compressor; both pressures at their gauges.',
        decimals: 0,
        loadFamily: 'none',
        needs: [],
        infrared: false,
        // Usual refrigerants lie between 1.1 and 1.2 (from memory); the one on the plate goes first.
        gasExponent: 1.15,
        regreasingGateHours: 0,
        limits: [dischargeOverCalculated],
      },
    ],
  },
  {
    key: 'chiller',
    name: 'Chiller',
    what: 'Compressor bearing and vibration, and how far the condensing temperature lies above its cooling water.',
    hazards: ['rotating', 'hot-surface', 'pressure', 'refrigerant', 'automatic-start'],
    points: [
      bearing('a', 'Compressor bearing', 'Housing of the drive-end bearing of the compressor, painted face, half a metre away.'),
      vibration('b', 'Compressor vibration', 'On the drive-end bearing housing of the compressor, sensor on bare flat metal.'),
      {
        letter: 'c',
        name: 'Condenser approach',
        quantity: 'approach',
        spot: 'Warm: condensing temperature as the gauge shows it. Cold: cooling water leaving the condenser, in its pocket.',
        decimals: 1,
        loadFamily: 'none',
        needs: [],
        infrared: false,
        regreasingGateHours: 0,
        limits: [condenserApproach],
      },
    ],
  },
  {
    key: 'recooler',
    name: 'Recooler',
    what: 'Fluid that comes back, fan vibration, the fan motor over its own base, and how near the fluid comes to the air.',
    hazards: ['rotating', 'roof', 'aerosol', 'automatic-start'],
    points: [
      temperature('a', 'Fluid out', 'Outlet pipe of the recooler, on tape or paint or in its pocket, fans running.', [
        recooledFluid,
      ]),
      vibration('b', 'Fan vibration', 'On the fan bearing housing or the motor flange, sensor on bare flat metal.'),
      frame('c', 'Fan motor above base'),
      {
        letter: 'd',
        name: 'Fluid out over the cooling air',
        quantity: 'over-cooling-air',
        spot: 'Fluid in its pockets or by contact; air where it enters the fins, out of the sun. With sprayed water read over the wet bulb.',
        decimals: 1,
        loadFamily: 'thermal-machine',
        minimumLoadPercent: 75,
        needs: [],
        infrared: false,
        regreasingGateHours: 0,
        limits: [coolerOverClean],
      },
    ],
  },
  {
    key: 'fire-pump-set',
    name: 'Fire-pump set',
    what: 'Motor and pump bearing, the gland over its own base, the start battery and the pressure at no flow: read once a week, at the weekly run.',
    hazards: ['fire-protection', 'rotating', 'hot-surface', 'pressure', 'automatic-start'],
    lifeSafety: true,
    points: [
      { ...motorBearing('a'), needs: ['ambient', 'minutesRunning'], loadFamily: 'none', minimumLoadPercent: 0 },
      {
        ...bearing(
          'b',
          'Pump bearing',
          'Housing of the pump bearing, painted face, half a metre away, at the end of the weekly run.',
        ),
        needs: ['ambient', 'minutesRunning'],
        loadFamily: 'none',
        minimumLoadPercent: 0,
      },
      overBase('c', 'Gland above base', 'Gland where the shaft enters, painted face or tape, at the end of the weekly run.', [
        sealOverBase,
      ]),
      {
        letter: 'd',
        name: 'Start battery',
        quantity: 'voltage',
        spot: 'At the battery terminals, charger off for an hour, before the run. Without a diesel engine leave this point out.',
        decimals: 1,
        loadFamily: 'none',
        needs: [],
        infrared: false,
        regreasingGateHours: 0,
        limits: [startBattery],
      },
      {
        letter: 'e',
        name: 'No-flow pressure',
        quantity: 'below-curve',
        spot: 'At the gauge of the pump with the test line shut, once the pressure stands still. Enter the acceptance curve first.',
        decimals: 1,
        loadFamily: 'none',
        needs: ['minutesRunning'],
        infrared: false,
        regreasingGateHours: 0,
        limits: [noFlowPressure],
      },
    ],
    readEveryDays: 7,
  },
];
