/**
 * Work orders: one repair with one owner, from Agreed to evidence.
 * Hides the table of moves, who may make which, what each leaves behind, and whether a reading proves a repair. Always holds: an
 * order ends Proved, Closed unproved, Turned down or merged and in no other way; every accepted move leaves exactly one record;
 * a refused move changes nothing and names the moves that are open; repeating the last move changes nothing.
 */
export * from './order.ts';
export * from './proof.ts';
