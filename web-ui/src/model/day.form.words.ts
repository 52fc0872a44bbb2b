// What the form of a line says of its kinds and of what is wrong with it.
import { texts } from '../habits/texts';

export const t = texts(
  {
    hints: {
      work: 'what was done',
      delivery: 'what came, and whether it was complete',
      delay: 'what held the work up',
      inspection: 'what was looked at, and the outcome',
      decision: 'what was decided',
      safety: 'what went wrong or nearly did',
      snag: 'what has to be put right',
      visitor: 'who came',
      note: 'anything else',
    },
    decidedBy: (who: string) => `Decided by: ${who}`,
    chooseSite: 'Choose the site',
    hoursNeedJob: 'Hours belong to a job: choose it, or take the hours off',
    degrees: 'One number, like 38 or -4.5',
    noCoverUp: 'No photo of what gets covered yet: wires, pipes, fill, blocking.',
  },
  {
    hints: {
      work: 'qué se hizo',
      delivery: 'qué llegó y si estaba completo',
      delay: 'qué detuvo el trabajo',
      inspection: 'qué se revisó y el resultado',
      decision: 'qué se decidió',
      safety: 'qué salió mal o casi',
      snag: 'qué hay que arreglar',
      visitor: 'quién vino',
      note: 'cualquier otra cosa',
    },
    decidedBy: (who) => `Lo decidió: ${who}`,
    chooseSite: 'Elegir el sitio',
    hoursNeedJob: 'Las horas son de una obra: elegirla o quitar las horas',
    degrees: 'Un número, como 38 o -4.5',
    noCoverUp: 'Todavía no hay foto de lo que se tapa: cables, tubos, relleno, bloques.',
  },
);
