// Texts of the sheet of conflicts.

import { texts } from '../../habits/texts';

export const t = texts(
  {
    title: 'Conflicts',
    fetching: 'what stands in conflict',
    how: 'Two devices wrote the same field without seeing each other. Both values are kept; one of them is shown now, until someone picks.',
    again: (record: string) => `Settled. To change it again, open ${record} and correct the field; both values stay in its history.`,
    none: 'Nothing is in conflict.',
    values: (field: string) => `Two devices wrote something else for: ${field}.`,
    wrote: (who: string, when: string, device: string) => `${who}, ${when}, on ${device}`,
    shown: 'the one shown now',
    cleared: 'cleared',
    pick: 'Keep this value',
    pickOf: (value: string) => `Keep ${value}`,
    reason: 'Why this value',
    reasonWhy: 'Write why first: this field asks for a reason',
    waits: 'Picked here; it waits to be sent.',
    echo: (record: string, field: string, value: string) => `${record}: ${field} settled on ${value}`,
    struck: 'struck',
    broughtBack: 'brought back',
  },
  {
    title: 'Conflictos',
    fetching: 'lo que está en conflicto',
    how: 'Dos dispositivos escribieron el mismo campo sin verse. Los dos valores se guardan; ahora se muestra uno de ellos, hasta que alguien elija.',
    again: (record) => `Resuelto. Para cambiarlo otra vez, abrir ${record} y corregir el campo; los dos valores quedan en su historial.`,
    none: 'Nada está en conflicto.',
    values: (field) => `Dos dispositivos escribieron cosas distintas en: ${field}.`,
    wrote: (who, when, device) => `${who}, ${when}, en ${device}`,
    shown: 'el que se muestra ahora',
    cleared: 'borrado',
    pick: 'Dejar este valor',
    pickOf: (value) => `Dejar ${value}`,
    reason: 'Por qué este valor',
    reasonWhy: 'Escribir primero el motivo: este campo lo pide',
    waits: 'Elegido aquí; espera para enviarse.',
    echo: (record, field, value) => `${record}: ${field} queda en ${value}`,
    struck: 'tachado',
    broughtBack: 'recuperado',
  },
);
