// Whether any money stands behind a sum: nothing that was booked is no price and no saving. Pure.

import type { Amount } from './print.shape';

/** Whether an amount is other than zero. */
export function isBooked(amount: Pick<Amount, 'amount'> | null | undefined): boolean {
  return amount != null && /[1-9]/.test(amount.amount);
}
