// Numbers as the notebook prints them, so that a number made here reads as it will there: half away from zero, the sign only where
// something is left of the number. As crates/findings (print). Pure.

/** A number with one decimal: `24.9`. */
export function oneDecimal(value: number): string {
  const rounded = Math.floor(Math.abs(value) * 10 + 0.5 + 1e-9) / 10;
  return `${value < 0 && rounded > 0 ? '-' : ''}${rounded.toFixed(1)}`;
}

/** A change with its sign: `+11.2`, `-0.4`, `0.0`. */
export function signed(value: number): string {
  const text = oneDecimal(value);
  return value < 0 || text === '0.0' ? text : `+${text}`;
}
