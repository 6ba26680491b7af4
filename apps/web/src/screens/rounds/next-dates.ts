import { awakeOccurrences, checkSeason, occurrencesOf, type PlacedTime, type Season } from '@heatround/domain';

const YEARS_MS = 3 * 366 * 86_400_000;
/** The next planned times of a route, for somebody who is writing its rule. Apart from the form, because counting is heavy. */
export function nextDates(
  given: { readonly rule: string; readonly startLocal: string; readonly zone: string; readonly season: Season | null },
  now: number,
  most = 5,
): readonly PlacedTime[] {
  const { season, zone } = given;
  if (season !== null && checkSeason(season) !== null) return [];
  const all = occurrencesOf(given, now, now + YEARS_MS, season === null ? most : 400);
  return awakeOccurrences(all, season, zone).slice(0, most);
}
