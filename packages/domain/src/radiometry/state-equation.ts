import { LONG_WAVE, type Response, signalOf, signalSlope, temperatureOfSignal, ZERO_C } from './black-body.ts';

/** What lies between object and imager, at one temperature: air, or the window of a panel with what it reflects. */
export interface Layer {
  /** Above 0 to 1. */
  readonly transmittance: number;
  readonly temperatureC: number;
}

/** Settings of an imager, or the true ones. */
export interface ImagerSettings {
  /** Above 0 to 1. */
  readonly emissivity: number;
  /** Reflected apparent temperature, °C. */
  readonly reflectedC: number;
  readonly air?: Layer | undefined;
  readonly window?: Layer | undefined;
}

const isShare = (value: number): boolean => value > 0 && value <= 1;
const areSettings = ({ emissivity, air, window }: ImagerSettings): boolean =>
  isShare(emissivity) && isShare(air?.transmittance ?? 1) && isShare(window?.transmittance ?? 1);

/** What comes through a layer, with what the layer adds; and back. */
const through = (signal: number, layer: Layer | undefined, response: Response): number =>
  layer === undefined
    ? signal
    : layer.transmittance * signal + (1 - layer.transmittance) * signalOf(layer.temperatureC, response);
const before = (signal: number, layer: Layer | undefined, response: Response): number =>
  layer === undefined
    ? signal
    : (signal - (1 - layer.transmittance) * signalOf(layer.temperatureC, response)) / layer.transmittance;

function received(trueC: number, settings: ImagerSettings, response: Response): number {
  const { emissivity, reflectedC, air, window } = settings;
  const left = emissivity * signalOf(trueC, response) + (1 - emissivity) * signalOf(reflectedC, response);
  return through(through(left, air, response), window, response);
}

function ownTemperature(signal: number, settings: ImagerSettings, response: Response): number | null {
  const { emissivity, reflectedC, air, window } = settings;
  const left = before(before(signal, window, response), air, response);
  return temperatureOfSignal((left - (1 - emissivity) * signalOf(reflectedC, response)) / emissivity, response);
}

/**
 * The temperature that an imager set to emissivity 1 shows of an object.
 * State equation of radiometry (principles of ISO 18434-1): τ_w·[τ_a·(ε·L(T) + (1−ε)·L(T_r)) + (1−τ_a)·L(T_a)] + (1−τ_w)·L(T_w).
 * @param trueC °C. @returns °C; null where settings are no shares or the signal lies outside 100 to 3000 K.
 * @example seenTemperature(80, { emissivity: 0.95, reflectedC: 20 }) // 77.56
 */
export function seenTemperature(trueC: number, settings: ImagerSettings, response: Response = LONG_WAVE): number | null {
  return areSettings(settings) ? temperatureOfSignal(received(trueC, settings, response), response) : null;
}

/**
 * The temperature of an object from what an imager set to emissivity 1 shows; the inverse of seenTemperature.
 * @returns °C; null where what surrounds the object alone would send more than was received.
 * @example trueTemperature(60, { emissivity: 0.9, reflectedC: 20 }) // 63.73
 */
export function trueTemperature(seenC: number, settings: ImagerSettings, response: Response = LONG_WAVE): number | null {
  return areSettings(settings) ? ownTemperature(signalOf(seenC, response), settings, response) : null;
}

/**
 * The temperature an imager would have shown under other settings: what it received is undone with the settings of the reading,
 * then read with the true ones.
 * @param temperatureC as shown. @returns °C, or null as for trueTemperature.
 * @example underTrueSettings(75, { emissivity: 0.3, reflectedC: 22 }, { emissivity: 0.93, reflectedC: 22 }) // 41.7
 */
export function underTrueSettings(
  temperatureC: number,
  as: ImagerSettings,
  truly: ImagerSettings,
  response: Response = LONG_WAVE,
): number | null {
  if (!areSettings(as) || !areSettings(truly)) return null;
  return ownTemperature(received(temperatureC, as, response), truly, response);
}

/** How far the temperature of an object moves with what was assumed, the signal held. */
export interface Sensitivities {
  /** K per unit of emissivity. */
  readonly emissivity: number;
  /** K per K of the reflected apparent temperature. */
  readonly reflected: number;
  /** K per unit of transmittance; 0 where nothing lies in between. */
  readonly air: number;
  readonly window: number;
}

/**
 * Sensitivities of a corrected temperature, for its budget (GUM, JCGM 100, 5.1.3): ∂T/∂ε = −(L(T) − L(T_r))/(ε·L′(T)),
 * ∂T/∂T_r = −(1 − ε)·L′(T_r)/(ε·L′(T)), and for a layer in front of which S arrives, ∂T/∂τ = (L(T_layer) − S)/(τ·ε·L′(T)), divided by
 * the transmittance of the air as well where the layer is a window.
 * @param trueC corrected temperature, °C. @param settings emissivity and transmittances above 0 to 1.
 * @returns null outside, and for temperatures that are none.
 * @example sensitivitiesAt(80, { emissivity: 0.95, reflectedC: 20 })?.emissivity // −50.9
 */
export function sensitivitiesAt(trueC: number, settings: ImagerSettings, response: Response = LONG_WAVE): Sensitivities | null {
  const { emissivity, reflectedC, air, window } = settings;
  if (!areSettings(settings)) return null;
  const temperatures = [trueC, reflectedC, air?.temperatureC ?? 20, window?.temperatureC ?? 20];
  if (!temperatures.every((temperature) => temperature > -ZERO_C + 1)) return null;
  const own = emissivity * signalSlope(trueC, response);
  const left = emissivity * signalOf(trueC, response) + (1 - emissivity) * signalOf(reflectedC, response);
  const ofLayer = (layer: Layer | undefined, arriving: number): number =>
    layer === undefined ? 0 : (signalOf(layer.temperatureC, response) - arriving) / (layer.transmittance * own);
  const found: Sensitivities = {
    emissivity: -(signalOf(trueC, response) - signalOf(reflectedC, response)) / own,
    reflected: (-(1 - emissivity) * signalSlope(reflectedC, response)) / own,
    air: ofLayer(air, left),
    window: ofLayer(window, through(left, air, response)) / (air?.transmittance ?? 1),
  };
  return Object.values(found).every(Number.isFinite) ? found : null;
}

/** Air within this distance indoors takes nothing, m (common practice, no source). */
const NEAR_M = 3;

/**
 * Share of long-wave radiation that passes air; empirical model of the literature on thermographic uncertainty (from memory).
 * @param distanceM 0 or more. @param airC −20 to 60 °C. @param humidity 0 to 100 %. @returns 1 up to 3 m; null outside.
 * @example airTransmittance(10, 20, 50) // 0.981
 */
export function airTransmittance(distanceM: number, airC: number, humidity: number): number | null {
  if (!(distanceM >= 0 && airC >= -20 && airC <= 60 && humidity >= 0 && humidity <= 100)) return null;
  if (distanceM <= NEAR_M) return 1;
  // Water in the air, g/m³.
  const water = (humidity / 100) * Math.exp(1.5587 + 0.06939 * airC - 2.7816e-4 * airC ** 2 + 6.8455e-7 * airC ** 3);
  const part = (alpha: number, beta: number): number => Math.exp(-Math.sqrt(distanceM) * (alpha + beta * Math.sqrt(water)));
  return Math.min(1, 1.9 * part(0.0066, -0.0023) + (1 - 1.9) * part(0.0126, -0.0067));
}
