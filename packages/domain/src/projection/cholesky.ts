/**
 * Cholesky decomposition of small symmetric positive definite matrices in flat arrays of width 4.
 * https://en.wikipedia.org/wiki/Cholesky_decomposition
 */
export const WIDTH = 4;

/** A pivot that rounding has eaten is kept at this share of its diagonal. */
const PIVOT_SHARE = 1e-15;

/**
 * L·Lᵀ = A for the upper left `size` rows, from the lower triangle of A into the lower triangle of `factor`.
 * A column of zeros gets the pivot 1, so that its coefficient is 0.
 */
export function factorise(matrix: Float64Array, size: number, factor: Float64Array): void {
  for (let row = 0; row < size; row++) {
    for (let column = 0; column <= row; column++) {
      const entry = matrix[WIDTH * row + column]!;
      let rest = entry;
      for (let k = 0; k < column; k++) rest -= factor[WIDTH * row + k]! * factor[WIDTH * column + k]!;
      factor[WIDTH * row + column] =
        row === column ? Math.sqrt(Math.max(rest, entry * PIVOT_SHARE) || 1) : rest / factor[(WIDTH + 1) * column]!;
    }
  }
}

/** Solves L·x = right; both may be the same array. */
export function solveLower(factor: Float64Array, size: number, right: Float64Array, solution: Float64Array): void {
  for (let row = 0; row < size; row++) {
    let rest = right[row]!;
    for (let k = 0; k < row; k++) rest -= factor[WIDTH * row + k]! * solution[k]!;
    solution[row] = rest / factor[(WIDTH + 1) * row]!;
  }
}

/** Solves Lᵀ·x = right; both may be the same array. */
export function solveUpper(factor: Float64Array, size: number, right: Float64Array, solution: Float64Array): void {
  for (let row = size - 1; row >= 0; row--) {
    let rest = right[row]!;
    for (let k = row + 1; k < size; k++) rest -= factor[WIDTH * k + row]! * solution[k]!;
    solution[row] = rest / factor[(WIDTH + 1) * row]!;
  }
}
