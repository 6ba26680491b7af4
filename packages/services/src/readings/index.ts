/**
 * Facts at points: how they are stored, which readings count, how they are read back. Hides the table and its JSON.
 * What always holds: a fact is written once under its organisation and id; of two contents under one id the one with the smaller
 * hash counts and the other is kept; which readings count follows from the facts alone, in whatever order they came.
 */

export { countersign, listToCountersign, type Signed, type ToCountersign } from './countersign.ts';
export {
  type AnswerView,
  type HistoryReading,
  type HistoryWindow,
  historiesOf,
  listAnswers,
  listOtherContents,
  listReadings,
  type NearReading,
  type OtherContentView,
  type ReadingView,
  readingPages,
  readingsById,
  readingsNear,
  STANDS,
  type WorkView,
  workOf,
} from './read.ts';
export { hashOf, newestWork, type Recorded, type Recording, recordFacts } from './record.ts';
