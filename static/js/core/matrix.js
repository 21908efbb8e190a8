/**
 * Least squares by orthogonal triangularisation.
 *
 * Householder's reflections (G. H. Golub, C. F. Van Loan, Matrix Computations, sec. 5.2 to 5.5);
 * rows that are zero in a column are passed over, and most are: a residual knows few seats.
 */

/**
 * Make the first ``size`` columns of the rows upper triangular, in place, and turn the right hand
 * side along.
 * @param {Float64Array[]} rows
 * @param {Float64Array} rhs one value per row
 * @param {number} size
 */
export function triangularise(rows, rhs, size) {
  for (let k = 0; k < size && k < rows.length; k += 1) reflect(rows, rhs, k);
}

/**
 * One reflection that clears column k below row k.
 * @type {(rows: Float64Array[], rhs: Float64Array, k: number) => void}
 */
function reflect(rows, rhs, k) {
  /** @type {number[]} */
  const touched = [];
  let square = 0;
  for (let i = k; i < rows.length; i += 1) {
    const value = rows[i][k];
    if (value === 0 && i > k) continue;
    touched.push(i);
    square += value * value;
  }
  const length = Math.sqrt(square);
  if (touched.length < 2 || length === 0) return;
  const end = rows[k][k] > 0 ? -length : length;
  const v = touched.map((i) => (i === k ? rows[k][k] - end : rows[i][k]));
  const scale = -1 / (end * v[0]); // 2 / v.v
  const width = rows[k].length;
  const share = new Float64Array(width);
  let shareRhs = 0;
  touched.forEach((i, at) => {
    const row = rows[i];
    for (let j = k; j < width; j += 1) share[j] += v[at] * row[j];
    shareRhs += v[at] * rhs[i];
  });
  touched.forEach((i, at) => {
    const row = rows[i];
    const by = scale * v[at];
    for (let j = k + 1; j < width; j += 1) row[j] -= by * share[j];
    row[k] = i === k ? end : 0;
    rhs[i] -= by * shareRhs;
  });
}

/**
 * Solve the upper triangle of the first ``size`` rows and columns.
 * @param {Float64Array[]} rows
 * @param {ArrayLike<number>} rhs
 * @param {number} size
 * @returns {Float64Array}
 */
export function backSubstitute(rows, rhs, size) {
  const x = new Float64Array(size);
  for (let i = size - 1; i >= 0; i -= 1) {
    let rest = rhs[i];
    for (let j = i + 1; j < size; j += 1) rest -= rows[i][j] * x[j];
    x[i] = rest / rows[i][i];
  }
  return x;
}

/** Below this share of the largest column a direction counts as left open by the rows. */
const RANK_SHARE = 1e-10;

/**
 * The x that minimises |rows x - rhs|, and of those the shortest.
 *
 * Columns are taken in the order of what is left of them, so that what the rows leave open comes
 * last. The solution with those at zero, less its part in the null space, is the shortest one.
 * @param {Float64Array[]} rows used up
 * @param {Float64Array} rhs used up
 * @param {number} size number of columns
 * @returns {Float64Array}
 */
export function leastSquares(rows, rhs, size) {
  const order = Array.from({ length: size }, (_, j) => j);
  let rank = 0;
  let largest = 0;
  for (; rank < size && rank < rows.length; rank += 1) {
    const [at, length] = longestColumn(rows, rank, size);
    if (rank === 0) largest = length;
    if (length <= RANK_SHARE * largest) break;
    swapColumns(rows, order, rank, at);
    reflect(rows, rhs, rank);
  }
  const basic = backSubstitute(rows, rhs, rank);
  const shortest = rank < size ? withoutNullSpace(rows, basic, rank, size) : basic;
  const x = new Float64Array(size);
  order.forEach((column, j) => (x[column] = shortest[j]));
  return x;
}

/** @type {(rows: Float64Array[], rank: number, size: number) => [number, number]} */
function longestColumn(rows, rank, size) {
  const squares = new Float64Array(size);
  for (let i = rank; i < rows.length; i += 1) {
    for (let j = rank; j < size; j += 1) squares[j] += rows[i][j] * rows[i][j];
  }
  let at = rank;
  for (let j = rank + 1; j < size; j += 1) if (squares[j] > squares[at]) at = j;
  return [at, Math.sqrt(squares[at])];
}

/** @type {(rows: Float64Array[], order: number[], a: number, b: number) => void} */
function swapColumns(rows, order, a, b) {
  for (const row of rows) [row[a], row[b]] = [row[b], row[a]];
  [order[a], order[b]] = [order[b], order[a]];
}

/**
 * @type {(rows: Float64Array[], basic: Float64Array, rank: number, size: number) => Float64Array}
 */
function withoutNullSpace(rows, basic, rank, size) {
  const open = size - rank;
  // columns of the null space: [-R11^-1 R12; I]
  const space = Array.from({ length: size }, () => new Float64Array(open));
  for (let j = 0; j < open; j += 1) {
    const column = backSubstitute(rows, rows.slice(0, rank).map((row) => row[rank + j]), rank);
    column.forEach((value, i) => (space[i][j] = -value));
    space[rank + j][j] = 1;
  }
  const x = new Float64Array(size);
  x.set(basic);
  const used = space.map((row) => row.slice());
  const turned = x.slice();
  triangularise(used, turned, open);
  const part = backSubstitute(used, turned, open);
  return x.map((value, i) => value - space[i].reduce((sum, by, j) => sum + by * part[j], 0));
}
