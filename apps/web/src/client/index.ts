/**
 * Calls of the service, typed by the contract. Hides addresses, headers, problem documents and network pages.
 * Always: an answer has the type the contract promises, a refusal is a Refusal with its reasons per field, and whatever
 * did not come from the service is NoSignal.
 */
export { type Answer, call, type EndpointName, onDoubt, onHearing, type Sent, speakFor, takeFile } from './client.ts';
export { newId } from './new-id.ts';
export { type Detail, NoSignal, Refusal, sayTrouble } from './problem.ts';
