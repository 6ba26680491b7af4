/**
 * The register: sites, buildings, rooms, assets and their points. Hides the tables, the tag aliases and the search words.
 * What always holds: a tag names one asset for good, whatever its case; an asset, its points and their limits come in together
 * or not at all; a person narrowed to some sites neither finds nor guesses the others.
 */
export { type AssetLine, listAssets, PLACE, type Place } from './list.ts';
export {
  createBuilding,
  createRoom,
  createSite,
  insertBuilding,
  insertRoom,
  insertSite,
  listSites,
  type SiteTree,
} from './places.ts';
export { loadPoints, type RegisteredPoint } from './points.ts';
export {
  type AssetChange,
  addPoint,
  addPoints,
  changeAsset,
  changePoint,
  confirmBase,
  createAsset,
  insertAssets,
  type NewAsset,
  type NewPoint,
} from './register.ts';
