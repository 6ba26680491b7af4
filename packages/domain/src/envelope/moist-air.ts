/** Water in air: what air can hold, when it drips, and how moist it is at a colder surface. Temperatures in °C, humidity in % of saturation. */

/** ISO 13788, annex E: p = 610.5·exp(slope·θ/(shift + θ)), over water and over ice. */
const AT_ZERO = 610.5;
const WATER = { slope: 17.269, shift: 237.3 } as const;
const ICE = { slope: 21.875, shift: 265.5 } as const;
/** Range of both, °C. */
const LEAST_C = -60;
const MOST_C = 100;

/**
 * Pressure of saturated water vapour over water, below 0 °C over ice. ISO 13788, annex E.
 * @param temperature °C, −60 to 100.
 * @returns Pa, or null outside the range.
 * @example vapourPressure(20) // 2336.95
 */
export function vapourPressure(temperature: number): number | null {
  if (!(temperature >= LEAST_C && temperature <= MOST_C)) return null;
  const { slope, shift } = temperature >= 0 ? WATER : ICE;
  return AT_ZERO * Math.exp((slope * temperature) / (shift + temperature));
}

/**
 * The temperature at which a vapour pressure saturates: vapourPressure turned round. ISO 13788, annex E.
 * @param pascal above 0.
 * @returns °C, −60 to 100, or null outside the range.
 * @example saturationAt(2336.95) // 20
 */
export function saturationAt(pascal: number): number | null {
  const { slope, shift } = pascal >= AT_ZERO ? WATER : ICE;
  const log = Math.log(pascal / AT_ZERO);
  const temperature = (shift * log) / (slope - log);
  return temperature >= LEAST_C && temperature <= MOST_C ? temperature : null;
}

/**
 * Dew point of air over water. Magnus form with the constants of the WMO guide (WMO-No. 8): 17.62 and 243.12 °C.
 * @param air °C, −45 to 60. @param humidity %, above 0 to 100.
 * @returns °C, or null outside the range.
 * @example dewPoint(20, 50) // 9.26
 */
export function dewPoint(air: number, humidity: number): number | null {
  if (!(air >= -45 && air <= 60) || !(humidity > 0 && humidity <= 100)) return null;
  const gamma = Math.log(humidity / 100) + (17.62 * air) / (243.12 + air);
  return (243.12 * gamma) / (17.62 - gamma);
}

/**
 * Relative humidity of the air that touches a surface: its vapour over what the surface could hold. ISO 13788.
 * @param surface °C. @param air °C. @param humidity of the air, % from 0 to 100.
 * @returns %, above 100 where it is wet, or null outside the range of vapourPressure.
 * @example humidityAtSurface(14, 20, 55) // 80.4
 */
export function humidityAtSurface(surface: number, air: number, humidity: number): number | null {
  const [there, here] = [vapourPressure(surface), vapourPressure(air)];
  return there === null || here === null || !(humidity >= 0 && humidity <= 100) ? null : (humidity * here) / there;
}
