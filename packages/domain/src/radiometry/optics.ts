/** Picture elements that must fit across the smallest target (common practice, no source). */
export const ELEMENTS_ACROSS = 3;

/**
 * Angle that one picture element sees, mrad: mm at 1 m.
 * @param fieldOfViewDegrees of the picture, above 0 to 180. @param elements across it, 1 or more.
 * @returns null outside.
 * @example pictureElement(25, 320) // 1.364
 */
export const pictureElement = (fieldOfViewDegrees: number, elements: number): number | null =>
  fieldOfViewDegrees > 0 && fieldOfViewDegrees <= 180 && elements >= 1
    ? ((fieldOfViewDegrees * Math.PI) / 180 / elements) * 1000
    : null;

/**
 * Narrowest target whose temperature can be told, mm.
 * @param elementMrad angle of one element. @param distanceM 0 or more.
 * @example smallestTarget(1.3635, 1) // 4.09
 */
export const smallestTarget = (elementMrad: number, distanceM: number, across: number = ELEMENTS_ACROSS): number =>
  across * elementMrad * distanceM;

/**
 * Spot that a spot thermometer sees, in the unit of the distance.
 * @param distance 0 or more. @param ratio distance to spot, such as 12 for 12:1, above 0.
 * @returns null outside.
 * @example spotDiameter(600, 12) // 50
 */
export const spotDiameter = (distance: number, ratio: number): number | null =>
  distance >= 0 && ratio > 0 ? distance / ratio : null;

/**
 * Is a target narrower than what can be told? What is read of it is then a lower bound of a hot spot before something colder.
 * @param targetMm width. @example isTargetTooSmall(8, 12.3) // true
 */
export const isTargetTooSmall = (targetMm: number, smallestMm: number): boolean => targetMm < smallestMm;
