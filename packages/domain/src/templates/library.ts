import { LEAST_LOAD_PERCENT, LOAD_EXPONENT } from '../electrical/index.ts';
import {
  bearing,
  COMMON,
  frame,
  gearboxOil,
  hotWaterFlow,
  hotWaterReturn,
  limits,
  phases,
  pipe,
  sealOverBase,
  terminalRise,
  twinBearings,
  vibration,
} from './building-blocks.ts';
import { MACHINES } from './machines.ts';
import { PLANT } from './plant.ts';
import type { AssetTemplate } from './types.ts';
import { WATER_AND_SUN } from './water-and-sun.ts';

const motorCurrent = limits(
  'absolute',
  [105, 110, 115, 125],
  COMMON,
  'Above its rated current a motor ages faster than it was built for.',
);
const windingResistance = limits(
  'absolute',
  [50, 20, 10, 5],
  'IEEE 43 (from memory): 5 MΩ at 40 °C for windings below 1 kV; the figures above it are common practice',
  'Below the least resistance a winding is not switched on; a healthy dry one has a hundred times as much.',
  'low',
);
const windingIndex = limits(
  'polarisation-index',
  [null, 2, 1.5, 1],
  'IEEE 43: at least 2 for insulation of class 130 and higher',
  'Resistance after ten minutes over that after one: a low ratio is damp or dirt. Above 5 GΩ it says nothing.',
  'low',
);

/** The class templates. Keys are stored with assets and never change their meaning. */
export const TEMPLATES: readonly AssetTemplate[] = [
  {
    key: 'motor',
    name: 'Motor with bearings',
    what: 'Both bearings, the frame over its own base, vibration at the drive end, the current and the insulation.',
    hazards: ['rotating', 'hot-surface', 'automatic-start'],
    points: [
      ...twinBearings(
        bearing('a', 'Drive-end bearing', 'Housing of the drive-end bearing, painted face, half a metre away, square on.'),
        bearing('b', 'Non-drive-end bearing', 'Housing at the fan cowl, painted face, half a metre away, square on.'),
      ),
      frame('c', 'Frame above base'),
      vibration('d', 'Drive-end vibration', 'On the drive-end bearing housing, horizontally, sensor on bare flat metal.'),
      {
        letter: 'e',
        name: 'Current',
        quantity: 'current-of-rated',
        spot: 'Clamp meter round each phase in turn; enter the greatest, and the rated current of the plate once for the point.',
        decimals: 0,
        loadFamily: 'none',
        needs: [],
        infrared: false,
        regreasingGateHours: 0,
        limits: [motorCurrent],
      },
      {
        letter: 'f',
        name: 'Insulation resistance',
        quantity: 'insulation-resistance',
        spot: 'Windings against earth, dead, isolated and discharged, always at the same test voltage; by a competent person.',
        decimals: 0,
        loadFamily: 'none',
        needs: [],
        infrared: false,
        regreasingGateHours: 0,
        limits: [windingResistance, windingIndex],
      },
    ],
  },
  {
    key: 'pump',
    name: 'Pump with motor',
    what: 'Motor and pump bearing, vibration at the pump, and the seal over its own base.',
    hazards: ['rotating', 'hot-surface', 'automatic-start', 'pressure'],
    points: [
      bearing('a', 'Motor drive-end bearing', 'Housing of the motor’s drive-end bearing, painted face, half a metre away.'),
      bearing('b', 'Pump bearing', 'Housing of the pump bearing next to the coupling, painted face, half a metre away.'),
      vibration('c', 'Pump vibration', 'On the pump bearing housing, horizontally, sensor on bare flat metal.'),
      {
        letter: 'd',
        name: 'Seal above base',
        quantity: 'above-base',
        spot: 'Seal housing where the shaft enters, painted face or tape, half a metre away, guard in place.',
        decimals: 1,
        loadFamily: 'thermal-machine',
        basis: 'raw',
        minimumLoadPercent: 50,
        infrared: true,
        emissivity: 0.93,
        needs: ['load'],
        regreasingGateHours: 0,
        limits: [sealOverBase],
      },
    ],
  },
  {
    key: 'gearbox-drive',
    name: 'Gearbox drive',
    what: 'Output bearing, oil sump and vibration of the gearbox, and the motor frame over its own base.',
    hazards: ['rotating', 'hot-surface', 'automatic-start'],
    points: [
      bearing('a', 'Gearbox output bearing', 'Bearing cap at the output shaft, painted face, half a metre away, square on.'),
      {
        ...bearing('b', 'Gearbox oil sump', 'Housing below the oil level, painted face, half a metre away, square on.'),
        regreasingGateHours: 0,
        limits: [gearboxOil],
      },
      vibration('c', 'Gearbox vibration', 'On the output bearing cap, horizontally, sensor on bare flat metal.'),
      frame('d', 'Motor frame above base'),
    ],
  },
  {
    key: 'switch-panel',
    name: 'Switch panel',
    what: 'Incomer over air, incomer phases, one outgoing way and one busbar joint between their phases, and the hottest contactor.',
    hazards: ['live-panel', 'lone-work'],
    points: [
      {
        letter: 'a',
        name: 'Incomer terminals over air',
        quantity: 'rise-over-ambient',
        spot: 'Hottest incomer terminal, on the cable insulation right beside the lug; air at the foot of the panel, outside.',
        decimals: 1,
        loadFamily: 'electrical',
        basis: 'corrected',
        minimumLoadPercent: LEAST_LOAD_PERCENT,
        loadExponent: LOAD_EXPONENT,
        infrared: true,
        emissivity: 0.95,
        needs: ['load'],
        regreasingGateHours: 0,
        limits: [terminalRise],
      },
      phases('b', 'Incomer phases', 'The three incomer terminals in one picture, on the insulation right beside each lug.', 0.95),
      phases(
        'c',
        'Outgoing way phases',
        'The three terminals of the way in one picture, on the insulation right beside each lug.',
        0.95,
      ),
      phases(
        'd',
        'Busbar joint phases',
        'The same joint of the three bars in one picture. Bare metal: have tape or paint put on during a shutdown, then enter its emissivity here.',
        null,
      ),
      {
        letter: 'e',
        name: 'Hottest contactor',
        quantity: 'temperature',
        spot: 'Casing of the hottest contactor, on the plastic beside its contacts, through a window or with the cover off by a competent person.',
        decimals: 1,
        loadFamily: 'electrical',
        basis: 'raw',
        minimumLoadPercent: LEAST_LOAD_PERCENT,
        infrared: true,
        emissivity: 0.95,
        needs: ['load'],
        regreasingGateHours: 0,
        limits: [
          limits(
            'absolute',
            [55, 65, 75, 80],
            COMMON,
            'From 80 °C a contactor is a fire risk: it is replaced, by a competent person. The lower figures leave time to plan that.',
          ),
        ],
      },
    ],
  },
  {
    key: 'hot-water-circuit',
    name: 'Hot-water circuit',
    what: 'Flow and return by contact thermometer, and the bearing of the circulation pump.',
    hazards: ['hot-water', 'hot-surface', 'automatic-start'],
    points: [
      pipe('a', 'Flow', 'Flow pipe one metre behind the store, sensor under the lagging or in the pocket.', hotWaterFlow),
      pipe(
        'b',
        'Circulation return',
        'Return pipe just before the store, sensor under the lagging or in the pocket.',
        hotWaterReturn,
      ),
      {
        ...bearing('c', 'Circulation pump bearing', 'Painted housing beside the shaft, half a metre away, square on.'),
        loadFamily: 'none',
        needs: ['ambient'],
      },
    ],
  },
  ...MACHINES,
  ...PLANT,
  ...WATER_AND_SUN,
];
