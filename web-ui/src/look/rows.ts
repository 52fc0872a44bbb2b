// Which rows of a long list are in the page. Pure.

/** Rows in the page at most, however long the list. */
export const MOST_ROWS = 40;
/** Rows beyond each edge of the window, so that the next one can take the focus before it is seen. */
const MARGIN_ROWS = 6;

/** Where each row begins, px from the top of the list; one more at the end for where the last one stops. */
export function offsets(count: number, heightOf: (index: number) => number): Float64Array {
  const starts = new Float64Array(count + 1);
  let sum = 0;
  for (let index = 0; index < count; index += 1) {
    starts[index] = sum;
    sum += heightOf(index);
  }
  starts[count] = sum;
  return starts;
}

/** The rows from `first` up to, not including, `end`. */
export interface Span {
  first: number;
  end: number;
}

/** The rows to have in the page when the window shows the list from `top` to `bottom`, px. */
export function span(starts: Float64Array, top: number, bottom: number): Span {
  const count = starts.length - 1;
  if (count <= 0) return { first: 0, end: 0 };
  const first = rowAt(starts, top);
  const last = rowAt(starts, bottom);
  const seen = last - first + 1;
  const margin = Math.max(1, Math.min(MARGIN_ROWS, Math.floor((MOST_ROWS - seen) / 2)));
  const from = Math.max(0, first - margin);
  return { first: from, end: Math.min(count, last + 1 + margin, from + MOST_ROWS) };
}

/** The row at a height: the last one that begins at or above it. */
function rowAt(starts: Float64Array, at: number): number {
  let low = 0;
  let high = starts.length - 2;
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if ((starts[middle] ?? 0) <= at) low = middle;
    else high = middle - 1;
  }
  return low;
}
