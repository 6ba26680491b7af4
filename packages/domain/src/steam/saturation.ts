/** The saturation line of water, both ways, and what it takes to evaporate on it. Pressures in bar, temperatures in °C. */

/** Air pressure at sea level, bar; gauges read above the air. */
export const AIR_BAR = 1.013_25;

/** Coefficients of the saturation line, IAPWS R7-97(2012), table 34. */
const N = [
  0.116_705_214_527_67e4, -0.724_213_167_032_06e6, -0.170_738_469_400_92e2, 0.120_208_247_024_7e5, -0.323_255_503_223_33e7,
  0.149_151_086_135_3e2, -0.482_326_573_615_91e4, 0.405_113_405_420_57e6, -0.238_555_575_678_49, 0.650_175_348_447_98e3,
] as const;

/** Ends of the equation: 273.15 K, and the critical point. */
const LEAST_BAR = 611.213e-5;
const CRITICAL_BAR = 220.64;
const CRITICAL_K = 647.096;
const ZERO_C = 273.15;

/**
 * Saturation temperature of steam. IAPWS R7-97(2012), backward equation of region 4.
 * @param bar absolute, 0.00611213 to 220.64.
 * @returns °C, or null outside the range.
 * @example steamTemperature(1) // 99.606
 */
export function steamTemperature(bar: number): number | null {
  if (!(bar >= LEAST_BAR && bar <= CRITICAL_BAR)) return null;
  const [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
  const beta = (bar / 10) ** 0.25;
  const e = beta ** 2 + n3 * beta + n6;
  const f = n1 * beta ** 2 + n4 * beta + n7;
  const g = n2 * beta ** 2 + n5 * beta + n8;
  const d = (2 * g) / (-f - Math.sqrt(f ** 2 - 4 * e * g));
  return (n10 + d - Math.sqrt((n10 + d) ** 2 - 4 * (n9 + n10 * d))) / 2 - ZERO_C;
}

/**
 * Saturation temperature at what a gauge shows.
 * @param gaugeBar bar above the air.
 * @param airBar of the site; left out, that at sea level.
 * @returns °C, or null outside the range of steamTemperature.
 * @example steamTemperatureAtGauge(7) // 170.48
 */
export const steamTemperatureAtGauge = (gaugeBar: number, airBar: number = AIR_BAR): number | null =>
  steamTemperature(gaugeBar + airBar);

/**
 * Saturation pressure of steam. IAPWS R7-97(2012), region 4.
 * @param temperature °C, 0 to 373.946.
 * @returns bar absolute, or null outside the range.
 * @example steamPressure(100) // 1.0142
 */
export function steamPressure(temperature: number): number | null {
  const kelvin = temperature + ZERO_C;
  if (!(kelvin >= ZERO_C && kelvin <= CRITICAL_K)) return null;
  return saturationBar(kelvin);
}

function saturationBar(kelvin: number): number {
  const [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
  const theta = kelvin + n9 / (kelvin - n10);
  const a = theta ** 2 + n1 * theta + n2;
  const b = n3 * theta ** 2 + n4 * theta + n5;
  const c = n6 * theta ** 2 + n7 * theta + n8;
  return 10 * ((2 * c) / (-b + Math.sqrt(b ** 2 - 4 * a * c))) ** 4;
}

/** Density at the critical point, kg/m³. */
const CRITICAL_DENSITY = 322;
/** Densities on the saturation line by powers of 1 − T/T_critical: IAPWS SR1-86(1992), equations 2 and 3. */
const LIQUID = [
  [1.992_740_64, 1 / 3],
  [1.099_653_42, 2 / 3],
  [-0.510_839_303, 5 / 3],
  [-1.754_934_79, 16 / 3],
  [-45.517_035_2, 43 / 3],
  [-6.746_944_5e5, 110 / 3],
] as const;
const VAPOUR = [
  [-2.031_502_4, 2 / 6],
  [-2.683_029_4, 4 / 6],
  [-5.386_264_92, 8 / 6],
  [-17.299_160_5, 18 / 6],
  [-44.758_658_1, 37 / 6],
  [-63.920_106_3, 71 / 6],
] as const;

const powers = (terms: typeof LIQUID | typeof VAPOUR, tau: number): number =>
  terms.reduce((sum, [factor, power]) => sum + factor * tau ** power, 0);

/**
 * Heat that evaporates water on the saturation line. Clausius and Clapeyron: T·(v″ − v′)·dp/dT, with the slope of region 4
 * of IAPWS R7-97(2012) and the volumes of IAPWS SR1-86(1992).
 * @param bar absolute, 0.00611213 to 220.64, where it ends at 0.
 * @returns kJ/kg, or null outside the range.
 * @example latentHeat(8) // 2047.0
 */
export function latentHeat(bar: number): number | null {
  const temperature = steamTemperature(bar);
  if (temperature === null) return null;
  const kelvin = Math.min(temperature + ZERO_C, CRITICAL_K);
  const tau = 1 - kelvin / CRITICAL_K;
  const liquid = CRITICAL_DENSITY * (1 + powers(LIQUID, tau));
  const vapour = CRITICAL_DENSITY * Math.exp(powers(VAPOUR, tau));
  // Half-width of the difference quotient, K: far above rounding, far below the bend of the line.
  const step = 0.01;
  const slope = ((saturationBar(kelvin + step) - saturationBar(kelvin - step)) / (2 * step)) * 1e5;
  return Math.max(0, (kelvin * (1 / vapour - 1 / liquid) * slope) / 1000);
}
