import { uuidV7 } from '@heatround/domain';

/** An id for something that is made here; kept with the form, so that sending again after a break makes it once. */
export const newId = (): string => uuidV7(Date.now(), crypto.getRandomValues(new Uint8Array(10)));
