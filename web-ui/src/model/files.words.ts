// What is said of files pinned to a record.
import { texts } from '../habits/texts';

export const t = texts(
  {
    what: 'the list of photos',
    noName: 'file without a name',
    noContent: 'It has no content.',
    cameOf: (have: string, all: string) => `Not here yet: ${have} of ${all} have come.`,
    came: (have: string) => `Not here yet: ${have} have come.`,
    damaged: 'Damaged on the notebook’s computer, and not here again yet: it comes from another device that has it.',
    missing: (size: string) => `Not here yet${size && ` (${size})`}: it comes when the notebook syncs with the device that has it.`,
  },
  {
    what: 'la lista de fotos',
    noName: 'archivo sin nombre',
    noContent: 'No tiene contenido.',
    cameOf: (have, all) => `Todavía no está aquí: llegaron ${have} de ${all}.`,
    came: (have) => `Todavía no está aquí: llegaron ${have}.`,
    damaged: 'Dañado en la computadora del cuaderno y todavía no repuesto: llega de otro dispositivo que lo tenga.',
    missing: (size) => `Todavía no está aquí${size && ` (${size})`}: llega cuando el cuaderno se sincronice con el dispositivo que lo tiene.`,
  },
);
