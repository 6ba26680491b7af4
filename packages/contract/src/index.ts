/**
 * What travels between the service and its callers, said once: zod schemas and endpoint descriptions.
 * The API registers `endpoints`, the web client derives its calls from the same objects, the tests walk them.
 */
import * as carry from './carry.ts';
import * as signing from './countersign.ts';
import * as takingOut from './exports.ts';
import * as handOver from './hand-over.ts';
import * as identity from './identity.ts';
import * as imports from './imports.ts';
import * as limits from './limits.ts';
import * as mail from './mail.ts';
import * as orders from './orders.ts';
import * as people from './people.ts';
import * as readings from './readings.ts';
import * as register from './register.ts';
import * as rounds from './rounds.ts';
import * as submissions from './submissions.ts';

export * from './carry.ts';
export * from './countersign.ts';
export * from './endpoint.ts';
export * from './exports.ts';
export * from './hand-over.ts';
export * from './identity.ts';
export * from './import-targets.ts';
export * from './imports.ts';
export * from './limits.ts';
export * from './mail.ts';
export * from './orders.ts';
export * from './people.ts';
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
  lookAgainAt: orders.lookAgainAt,
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
  listMembers: people.listMembers,
  changeMember: people.changeMember,
  endMember: people.endMember,
  endMemberSessions: people.endMemberSessions,
  liftSecondFactor: people.liftSecondFactor,
  invite: people.invite,
  withdrawInvitation: people.withdrawInvitation,
  lookAtInvitation: people.lookAtInvitation,
  acceptInvitation: people.acceptInvitation,
  forgotPassword: people.forgotPassword,
  renewPassword: people.renewPassword,
  changePassword: people.changePassword,
  mySessions: people.mySessions,
  endMySession: people.endMySession,
  beginSecondFactor: people.beginSecondFactor,
  confirmSecondFactor: people.confirmSecondFactor,
  endSecondFactor: people.endSecondFactor,
  signInSecond: people.signInSecond,
  makeKey: people.makeKey,
  withdrawKey: people.withdrawKey,
  listMail: mail.listMail,
  getMail: mail.getMail,
  getMailSettings: mail.getMailSettings,
  changeMailSettings: mail.changeMailSettings,
  noteBounce: mail.noteBounce,
  unsubscribe: mail.unsubscribe,
  listToCountersign: signing.listToCountersign,
  countersign: signing.countersign,
  engineRoom: signing.engineRoom,
  getCarry: carry.getCarry,
  previewUndo: imports.previewUndo,
  undoImport: imports.undoImport,
} as const;
