/** What a trap that stays open lets through, and what that costs. Estimates: shown with LOSS_SPREAD on either side. */
import { AIR_BAR, latentHeat } from './saturation.ts';

/** Share of the ideal stream that passes a hole: as in the table of the US DOE's steam tip sheet 1, or sharp-edged as handbooks print Napier. */
export const DISCHARGE = { tipSheet: 0.72, sharp: 0.6 } as const;
/** Half-width of the estimate as a share of it (common practice, no source). */
export const LOSS_SPREAD = 0.3;
/** A trap that is not known to stand wide open counts as half open (common practice, no source). */
export const USUAL_OPENING = 0.5;
/** Napier holds while the stream is choked: pressure behind it at most this share of the line, both absolute (textbook). */
export const CHOKED_BELOW = 0.58;

const HOURS = 3600;
const KG_PER_LB = 0.453_592_37;
const METRES_PER_INCH = 0.0254;
const PA_PER_PSI = 6894.757_293;
const PA_PER_BAR = 1e5;
/** Napier's W = A·p/70, lb/s with in² and psi absolute, as kg/s with m² and Pa: 1.4567e-3. */
const NAPIER = KG_PER_LB / (70 * METRES_PER_INCH ** 2 * PA_PER_PSI);

/**
 * Live steam through a round hole, by Napier: 1.4567e-3·Cd·A·p. An upper bound where the stream is not choked, see CHOKED_BELOW.
 * @param millimetres bore. @param bar of the line, absolute. @param discharge coefficient, above 0 to 1.
 * @returns kg/h, or null outside the range.
 * @example steamLoss(3, 8.01325) // 21.39
 */
export function steamLoss(millimetres: number, bar: number, discharge: number = DISCHARGE.tipSheet): number | null {
  if (!(millimetres > 0) || !(bar > 0) || !(discharge > 0 && discharge <= 1)) return null;
  const area = (Math.PI / 4) * (millimetres / 1000) ** 2;
  const loss = NAPIER * discharge * area * bar * PA_PER_BAR * HOURS;
  return Number.isFinite(loss) ? loss : null;
}

/**
 * The same in US units, from what a gauge shows at sea level: 3600/70·Cd·(π/4)·D²·p.
 * @param inches bore. @param psig pounds per square inch above the air.
 * @returns lb/h, or null outside the range.
 * @example steamLossUs(0.125, 150) // 74.8
 */
export function steamLossUs(inches: number, psig: number, discharge: number = DISCHARGE.tipSheet): number | null {
  const bar = AIR_BAR + (psig * PA_PER_PSI) / PA_PER_BAR;
  const loss = steamLoss(inches * METRES_PER_INCH * 1000, bar, discharge);
  return loss === null ? null : loss / KG_PER_LB;
}

/**
 * What a loss costs in a year, from the price of steam: loss · hours · price.
 * @param loss mass an hour. @param hours under steam in a year, 0 to 8784. @param price of one unit of that mass.
 * @returns money of the price, or null outside the range.
 * @example steamCost(75.8, 8760, 4.5 / 1000) // 2988
 */
export function steamCost(loss: number, hours: number, price: number): number | null {
  if (!(loss >= 0) || !(hours >= 0 && hours <= 8784) || !(price >= 0)) return null;
  const cost = loss * hours * price;
  return Number.isFinite(cost) ? cost : null;
}

/**
 * Fuel that evaporates what is lost in a year: loss · hours · latent heat / efficiency of the boiler.
 * @param loss kg/h. @param hours 0 to 8784. @param bar of the line, absolute. @param efficiency above 0 to 1.1 (condensing, on the lower heating value).
 * @returns kWh, or null outside the range; times the price of a kWh of fuel it is what the loss costs.
 * @example fuelForLoss(20, 8000, 8, 0.85) // 107035
 */
export function fuelForLoss(loss: number, hours: number, bar: number, efficiency: number): number | null {
  const heat = latentHeat(bar);
  if (heat === null || !(efficiency > 0 && efficiency <= 1.1)) return null;
  return steamCost(loss, hours, heat / 3600 / efficiency);
}

/** An estimate of what passes, kg/h, lowest first. */
export interface TrapLoss {
  readonly low: number;
  readonly central: number;
  readonly high: number;
  /** Not choked: the stream is smaller than this, how much cannot be told. */
  readonly isUpperBound: boolean;
}

/**
 * What passes a trap that stays open, ±30 % (common practice).
 * @param millimetres bore of its orifice. @param bar of the line, @param backBar of the return, both absolute.
 * @param opening share of the orifice that stands open, above 0 to 1.
 * @returns null where there is no such stream: a bore or pressure that is none, or a return at the pressure of the line.
 * @example trapLoss(3, 8.01325, 1.01325)?.central // 10.7
 */
export function trapLoss(millimetres: number, bar: number, backBar: number, opening: number = USUAL_OPENING): TrapLoss | null {
  const open = steamLoss(millimetres, bar);
  if (open === null || !(backBar >= 0 && backBar < bar) || !(opening > 0 && opening <= 1)) return null;
  const central = open * opening;
  return {
    low: central * (1 - LOSS_SPREAD),
    central,
    high: central * (1 + LOSS_SPREAD),
    isUpperBound: backBar > CHOKED_BELOW * bar,
  };
}
