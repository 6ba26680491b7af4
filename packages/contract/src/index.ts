/**
 * What travels between the service and its callers, said once: zod schemas and endpoint descriptions.
 * The API registers `endpoints`, the web client derives its calls from the same objects, the tests walk them.
 */
import * as takingOut from './exports.ts';
import * as handOver from './hand-over.ts';
import * as identity from './identity.ts';
import * as imports from './imports.ts';
import * as limits from './limits.ts';
import * as orders from './orders.ts';
import * as readings from './readings.ts';
import * as register from './register.ts';
import * as rounds from './rounds.ts';
import * as submissions from './submissions.ts';

export * from './endpoint.ts';
export * from './exports.ts';
export * from './hand-over.ts';
export * from './identity.ts';
export * from './import-targets.ts';
export * from './imports.ts';
export * from './limits.ts';
export * from './orders.ts';
export * from './readings.ts';
export * from './register.ts';
export * from './rounds.ts';
export * from './submissions.ts';

/** Every endpoint by name. */
export const endpoints = {
  signIn: identity.signIn,
  signOut: identity.signOut,
  whoAmI: identity.whoAmI,
  listSites: register.listSites,
  createSite: register.createSite,
  createBuilding: register.createBuilding,
  createRoom: register.createRoom,
  listAssets: register.listAssets,
  getAsset: register.getAsset,
  createAsset: register.createAsset,
  changeAsset: register.changeAsset,
  addPoint: register.addPoint,
  changePoint: register.changePoint,
  confirmBase: register.confirmBase,
  addLimits: limits.addLimits,
  listLimits: limits.listLimits,
  tryLimits: limits.tryLimits,
  listReadings: readings.listReadings,
  listAnswers: readings.listAnswers,
  listOtherContents: readings.listOtherContents,
  listForecasts: readings.listForecasts,
  getHitRates: readings.getHitRates,
  submitFacts: submissions.submitFacts,
  handOver: handOver.handOver,
  listHandedOver: handOver.listHandedOver,
  countHandedOver: handOver.countHandedOver,
  acceptHandedOver: handOver.acceptHandedOver,
  turnAwayHandedOver: handOver.turnAwayHandedOver,
  listRoutes: rounds.listRoutes,
  createRoute: rounds.createRoute,
  changeRoute: rounds.changeRoute,
  listDue: rounds.listDue,
  myWalk: rounds.myWalk,
  getRound: rounds.getRound,
  roundPack: rounds.roundPack,
  lookOverRound: rounds.lookOverRound,
  callOffRound: rounds.callOffRound,
  giveRound: rounds.giveRound,
  askForStop: rounds.askForStop,
  listWindows: rounds.listWindows,
  createWindow: rounds.createWindow,
  changeWindow: rounds.changeWindow,
  listPeople: rounds.listPeople,
  jumpClock: rounds.jumpClock,
  listFindings: orders.listFindings,
  answerFinding: orders.answerFinding,
  nameMode: orders.nameMode,
  listOrders: orders.listOrders,
  getOrder: orders.getOrder,
  moveOrder: orders.moveOrder,
  setTarget: orders.setTarget,
  startImport: imports.startImport,
  checkImport: imports.checkImport,
  runImport: imports.runImport,
  getImport: imports.getImport,
  listImports: imports.listImports,
  importTemplate: imports.importTemplate,
  exportTable: takingOut.exportTable,
  previewUndo: imports.previewUndo,
  undoImport: imports.undoImport,
} as const;
