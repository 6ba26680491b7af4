/** Air pressure at sea level, bar; gauges of a round read above the air. */
const AIR_BAR = 1.013_25;

/** Coefficients of the saturation line, IAPWS R7-97(2012), table 34. */
const N = [
  0.116_705_214_527_67e4, -0.724_213_167_032_06e6, -0.170_738_469_400_92e2, 0.120_208_247_024_7e5, -0.323_255_503_223_33e7,
  0.149_151_086_135_3e2, -0.482_326_573_615_91e4, 0.405_113_405_420_57e6, -0.238_555_575_678_49, 0.650_175_348_447_98e3,
] as const;

/** Ends of the equation, MPa: 273.15 K and the critical point. */
const LEAST_MPA = 611.213e-6;
const MOST_MPA = 22.064;

/**
 * Saturation temperature of steam. IAPWS R7-97(2012), backward equation of region 4.
 * @param gaugeBar bar above the air, from a vacuum of −1.007 to 219.
 * @returns °C, or null outside the range.
 * @example saturationTemperature(7) // 170.48
 */
export function saturationTemperature(gaugeBar: number): number | null {
  const mpa = (gaugeBar + AIR_BAR) / 10;
  if (!(mpa >= LEAST_MPA && mpa <= MOST_MPA)) return null;
  const [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
  const beta = mpa ** 0.25;
  const e = beta ** 2 + n3 * beta + n6;
  const f = n1 * beta ** 2 + n4 * beta + n7;
  const g = n2 * beta ** 2 + n5 * beta + n8;
  const d = (2 * g) / (-f - Math.sqrt(f ** 2 - 4 * e * g));
  return (n10 + d - Math.sqrt((n10 + d) ** 2 - 4 * (n9 + n10 * d))) / 2 - 273.15;
}

/**
 * Pressure of saturated water vapour over water, below 0 °C over ice. ISO 13788, annex E.
 * @param temperature °C, −60 to 100.
 * @returns Pa, or null outside the range.
 * @example saturationPressure(20) // 2336.95
 */
export function saturationPressure(temperature: number): number | null {
  if (!(temperature >= -60 && temperature <= 100)) return null;
  const [slope, shift] = temperature >= 0 ? [17.269, 237.3] : [21.875, 265.5];
  return 610.5 * Math.exp((slope * temperature) / (shift + temperature));
}

/**
 * Dew point of air over water. Magnus form with the constants of the WMO guide (WMO-No. 8): 17.62 and 243.12 °C.
 * @param air °C, −45 to 60. @param humidity %, above 0 to 100.
 * @returns °C, or null outside the range.
 * @example dewPointOf(20, 50) // 9.26
 */
export function dewPointOf(air: number, humidity: number): number | null {
  if (!(air >= -45 && air <= 60) || !(humidity > 0 && humidity <= 100)) return null;
  const gamma = Math.log(humidity / 100) + (17.62 * air) / (243.12 + air);
  return (243.12 * gamma) / (17.62 - gamma);
}

/**
 * Wet bulb of air at usual pressure. Stull 2011, J. Appl. Meteor. Climatol. 50; right within −1 to +0.65 K.
 * @param air °C, −20 to 50. @param humidity %, 5 to 99.
 * @returns °C, or null outside the range.
 * @example wetBulbOf(20, 50) // 13.7
 */
export function wetBulbOf(air: number, humidity: number): number | null {
  if (!(air >= -20 && air <= 50) || !(humidity >= 5 && humidity <= 99)) return null;
  return (
    air * Math.atan(0.151_977 * Math.sqrt(humidity + 8.313_659)) +
    Math.atan(air + humidity) -
    Math.atan(humidity - 1.676_331) +
    0.003_918_38 * humidity ** 1.5 * Math.atan(0.023_101 * humidity) -
    4.686_035
  );
}

/**
 * Temperature of a gas behind its compression. Ideal gas, textbook: T₂ = T₁ + T₁·(r^((k−1)/k) − 1)/η, in kelvin.
 * @param suction °C. @param suctionBar and @param dischargeBar bar above the air, the second above the first.
 * @param exponent k of the gas, above 1. @param efficiency isentropic, above 0 to 1.
 * @returns °C, or null outside the range.
 * @example dischargeTemperature(20, 0, 7.092_75, 1.4, 1) // 257.88
 */
export function dischargeTemperature(
  suction: number,
  suctionBar: number,
  dischargeBar: number,
  exponent: number,
  efficiency: number,
): number | null {
  const [from, to] = [suctionBar + AIR_BAR, dischargeBar + AIR_BAR];
  if (!(from > 0 && to >= from) || !(exponent > 1) || !(efficiency > 0 && efficiency <= 1)) return null;
  const kelvin = suction + 273.15;
  const warmed = suction + (kelvin * ((to / from) ** ((exponent - 1) / exponent) - 1)) / efficiency;
  return kelvin > 0 && Number.isFinite(warmed) ? warmed : null;
}
