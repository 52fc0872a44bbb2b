// What this browser may do, for screens that hide their forms. The notebook decides; this only spares a refusal.
import { session } from './session.svelte';

/** Whether what is written here would be taken. */
export function mayWrite(): boolean {
  return session.data?.role !== 'viewer';
}
