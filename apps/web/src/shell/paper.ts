/** The paper a person chose; without a choice the device decides. */
export const PAPERS = ['device', 'light', 'dark', 'contrast'] as const;
export type Paper = (typeof PAPERS)[number];
export const PAPER_WORDS: Readonly<Record<Paper, string>> = {
  device: 'As the device',
  light: 'Light',
  dark: 'Dark',
  contrast: 'High contrast',
};
const KEY = 'heatround-paper';

export function chosenPaper(): Paper {
  const kept = localStorage.getItem(KEY) as Paper | null;
  return kept !== null && PAPERS.includes(kept) ? kept : 'device';
}
export function choosePaper(paper: Paper): void {
  localStorage.setItem(KEY, paper);
  applyPaper(paper);
}
export function applyPaper(paper: Paper = chosenPaper()): void {
  if (paper === 'device') delete document.documentElement.dataset.paper;
  else document.documentElement.dataset.paper = paper;
}

const HAND = 'heatround-hand';
/** Swaps the order within rows of keys; text, charts and digits stay. */
export const isLeftHanded = (): boolean => localStorage.getItem(HAND) === 'left';
export function chooseHand(isLeft: boolean): void {
  if (isLeft) localStorage.setItem(HAND, 'left');
  else localStorage.removeItem(HAND);
  applyHand();
}
export function applyHand(): void {
  if (isLeftHanded()) document.documentElement.dataset.hand = 'left';
  else delete document.documentElement.dataset.hand;
}
