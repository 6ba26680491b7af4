import { COMMON, limits, overBase, phases, riseOverAir, temperature } from './building-blocks.ts';
import type { AssetTemplate } from './types.ts';

const cellCase = limits(
  'absolute',
  [25, 28, 33, 40],
  COMMON,
  'A lead battery made for 20 °C lives about half as long for every 10 K more (from memory).',
);
const postDifference = limits(
  'like-part-difference',
  [2, 4, 7, 12],
  COMMON,
  'Posts of one string carry one current: the warm one has a loose or corroded joint, or belongs to a weak cell.',
);
const heatSink = limits(
  'absolute',
  [60, 70, 80, 90],
  COMMON,
  'Usual for power modules with a forced draught; the figure of the maker goes first.',
);
const hotSpotClassF = limits(
  'absolute',
  [90, 110, 130, 150],
  'IEC 60085: thermal class 155 (F); IEC 60076-11 for dry transformers',
  'Insulation of class F ages at its rated pace at 155 °C; Now keeps 5 K from it, the others leave time to plan. Another class has other figures.',
);
const enclosureAir = limits(
  'rise-over-ambient',
  [15, 20, 28, 35],
  COMMON,
  'Air that leaves the enclosure so much warmer than it came in: blocked openings, a fan that stands, or more load than the room was made for.',
);
const exchangerApproach = limits(
  'absolute',
  [4, 5, 7, 10],
  COMMON,
  'Outlet of the warm side less inlet of the cold side: it grows as the plates foul. Commissioning tells the clean figure of yours.',
);
const approachOverClean = limits(
  'above-base',
  [2, 4, 6, 8],
  COMMON,
  'So much more than when it was clean: the surface fouls. Cleaning it starts the comparison anew.',
);
const effectivenessBelowClean = limits(
  'above-base-percent',
  [-10, -20, -30, -40],
  COMMON,
  'A tenth, a fifth, three and four tenths less than when it was clean, at like inlet temperatures: fouling or air.',
  'low',
);
const lossOverClean = limits(
  'above-base-percent',
  [20, 35, 60, 100],
  COMMON,
  'At like flow the pressure loss grows with what has settled between the plates.',
);
const burnAndLoss = limits(
  'absolute',
  [45, 50, 60, 70],
  'ISO 13732-1 (burn thresholds, from memory)',
  'Lagging this warm loses heat, and from about 60 °C bare metal burns whoever touches it.',
);
const doorCasing = limits(
  'absolute',
  [60, 80, 110, 150],
  'ISO 13732-1 (burn thresholds, from memory)',
  'A casing this hot has lost its lining behind it; it burns whoever touches it and wastes fuel.',
);
const flueGas = limits(
  'above-base',
  [20, 30, 45, 60],
  COMMON,
  'Flue gas above what it was after cleaning, at like firing: soot or scale. Each 20 K more costs about one per cent of the fuel.',
);

/** Plant that stands still. */
export const PLANT: readonly AssetTemplate[] = [
  {
    key: 'ups-battery',
    name: 'UPS and battery',
    what: 'Posts of a string against each other, the warmest cell case, and the heat sink of the inverter.',
    hazards: ['live-panel', 'lone-work'],
    points: [
      {
        ...phases(
          'a',
          'Battery posts',
          'Six posts of one string in one picture, on the tape or cap of each; the string loaded or charging.',
          0.95,
        ),
        loadFamily: 'none',
        basis: 'raw',
        minimumLoadPercent: 0,
        loadExponent: 1,
        needs: [],
        parts: ['P1', 'P2', 'P3', 'P4', 'P5', 'P6'],
        limits: [postDifference],
      },
      temperature(
        'b',
        'Warmest cell case',
        'Side of the warmest cell in the middle of the rack, plastic, half a metre away.',
        [cellCase],
        {
          emissivity: 0.95,
          loadFamily: 'none',
          needs: ['ambient'],
        },
      ),
      temperature('c', 'Inverter heat sink', 'Heat sink at its air outlet, on paint or tape, through the grille.', [heatSink], {
        loadFamily: 'electrical',
        needs: ['load', 'ambient'],
      }),
    ],
  },
  {
    key: 'dry-transformer',
    name: 'Dry transformer',
    what: 'Hot spot of the windings, low-voltage terminals between their phases, and the air that leaves the enclosure.',
    hazards: ['live-panel', 'hot-surface', 'lone-work'],
    points: [
      temperature(
        'a',
        'Winding hot spot',
        'As its own sensor shows it, or the hottest spot of the resin through a window, from the safe distance.',
        [hotSpotClassF],
        { emissivity: 0.95, loadFamily: 'electrical', needs: ['load', 'ambient'] },
      ),
      phases('b', 'Low-voltage terminals', 'The three terminals in one picture, on the insulation right beside each lug.', 0.95),
      riseOverAir(
        'c',
        'Enclosure outlet air',
        'Air at the upper outlet by a sensor in the stream; air of the room at the lower inlet.',
        [enclosureAir],
      ),
    ],
  },
  {
    key: 'heat-exchanger',
    name: 'Heat exchanger',
    what: 'How near the two sides come to each other, how well heat passes, the pressure loss, and the lagging.',
    hazards: ['hot-surface', 'hot-water', 'pressure'],
    points: [
      {
        letter: 'a',
        name: 'Approach',
        quantity: 'approach',
        spot: 'Warm: outlet of the warm side. Cold: inlet of the cold side. Both in their pockets or by contact under the lagging.',
        decimals: 1,
        loadFamily: 'none',
        needs: [],
        infrared: false,
        regreasingGateHours: 0,
        limits: [exchangerApproach, approachOverClean],
      },
      temperature('b', 'Lagging', 'Warmest spot of the lagging, its painted or taped face, one metre away.', [burnAndLoss], {
        loadFamily: 'none',
        needs: ['ambient'],
      }),
      {
        letter: 'c',
        name: 'Effectiveness',
        quantity: 'effectiveness',
        spot: 'All four pipes of the exchanger in their pockets or by contact under the lagging, at steady flow.',
        decimals: 1,
        loadFamily: 'none',
        needs: [],
        infrared: false,
        regreasingGateHours: 0,
        limits: [effectivenessBelowClean],
      },
      {
        letter: 'd',
        name: 'Pressure loss over clean',
        quantity: 'pressure-loss',
        spot: 'Between the gauges before and behind the side that fouls, at usual flow.',
        decimals: 0,
        loadFamily: 'none',
        needs: [],
        infrared: false,
        regreasingGateHours: 0,
        limits: [lossOverClean],
      },
    ],
  },
  {
    key: 'boiler',
    name: 'Boiler',
    what: 'Flue gas over what it was when clean, and the casing round the door.',
    hazards: ['hot-surface', 'steam', 'pressure', 'automatic-start'],
    points: [
      {
        ...overBase('a', 'Flue gas above base', 'In the measuring hole behind the boiler, by its own sensor, at steady firing.', [
          flueGas,
        ]),
        infrared: false,
        emissivity: null,
      },
      temperature('b', 'Door casing', 'Warmest spot of the casing round the door, painted face, one metre away.', [doorCasing], {
        needs: ['load', 'ambient'],
      }),
    ],
  },
];
