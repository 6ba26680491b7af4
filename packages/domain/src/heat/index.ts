/**
 * Heat that passes and heat that is carried: exchangers, heating circuits, emitters and warm ceilings.
 * Hides the limits in which the textbook equations are 0/0. Always holds: no function answers NaN or infinity; what cannot be
 * told has a reason or is null.
 */
export * from './circuit.ts';
export * from './exchanger.ts';
