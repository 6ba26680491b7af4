/** Where words stand in a drawing, so that nothing is printed across anything. Pure; px. */
export interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}
export interface Spot {
  readonly x: number;
  /** Base line of the words. */
  readonly y: number;
  readonly anchor: 'start' | 'middle' | 'end';
}
export interface Said extends Spot {
  readonly text: string;
}

const SIZE = 13;
/** About how wide words are drawn. */
export const wide = (text: string, size: number, isBold = false): number => text.length * size * (isBold ? 0.57 : 0.53);

/**
 * Takes words in, one after another: each stands at the first of its spots that is free, else in a shorter form, else not at all;
 * whatever is said in a drawing stands in the row beside it too.
 */
export function sayIn(
  width: number,
  drawn: readonly Box[],
): (texts: readonly string[], spots: readonly Spot[], isBold?: boolean) => Said | null {
  const taken = [...drawn];
  return (texts, spots, isBold = false) => {
    for (const text of texts) {
      const long = wide(text, SIZE, isBold);
      for (const spot of spots) {
        const left = spot.x - (spot.anchor === 'start' ? 0 : spot.anchor === 'end' ? long : long / 2);
        const box: Box = { left, right: left + long, top: spot.y - 10, bottom: spot.y + 3 };
        if (left < 0 || box.right > width || taken.some((other) => areAcross(box, other))) continue;
        taken.push(box);
        return { ...spot, text };
      }
    }
    return null;
  };
}

const areAcross = (a: Box, b: Box): boolean => a.left < b.right && a.right > b.left && a.top < b.bottom && a.bottom > b.top;
