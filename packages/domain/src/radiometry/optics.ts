/** Picture elements that must fit across the smallest target (common practice, no source). */
export const ELEMENTS_ACROSS = 3;

/**
 * Angle that one picture element sees, mrad: mm at 1 m.
 * @param fieldOfViewDegrees of the picture, above 0 to 180. @param elements across it, 1 or more.
 * @example pictureElement(25, 320) // 1.364
 */
export const pictureElement = (fieldOfViewDegrees: number, elements: number): number =>
  ((fieldOfViewDegrees * Math.PI) / 180 / elements) * 1000;

/**
 * Narrowest target whose temperature can be told, mm.
 * @param elementMrad angle of one element. @param distanceM 0 or more.
 * @example smallestTarget(1.3635, 1) // 4.09
 */
export const smallestTarget = (elementMrad: number, distanceM: number, across: number = ELEMENTS_ACROSS): number =>
  across * elementMrad * distanceM;

/**
 * Spot that a spot thermometer sees, in the unit of the distance.
 * @param ratio distance to spot, such as 12 for 12:1, above 0.
 * @example spotDiameter(600, 12) // 50
 */
export const spotDiameter = (distance: number, ratio: number): number => distance / ratio;

/**
 * Is a target narrower than what can be told? What is read of it is then a lower bound of a hot spot before something colder.
 * @param targetMm width. @example isTargetTooSmall(8, 12.3) // true
 */
export const isTargetTooSmall = (targetMm: number, smallestMm: number): boolean => targetMm < smallestMm;
