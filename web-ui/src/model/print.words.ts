// Texts of bounds, grades and doubtful times.
import { texts } from '../habits/texts';

export const t = texts(
  {
    unnamed: (kind: string) => `${kind} without a name`,
    to: 'to',
    bounds: { 'at-least': 'at least', 'at-most': 'at most', undetermined: 'undetermined' },
    grades: {
      A: 'nothing to hold against it',
      B: 'good practice for a house',
      C: 'weak: counted in a line of its own',
      D: 'too weak to count with others',
      none: 'not graded',
    },
    doubts: {
      ahead: 'That lies in the future by the notebook’s clock: one of the two clocks is wrong.',
      'before-what-it-saw': 'That is before what it replaced: the clock of one of the two devices was wrong.',
    },
  },
  {
    unnamed: (kind) => `${kind} sin nombre`,
    to: 'a',
    bounds: { 'at-least': 'al menos', 'at-most': 'a lo sumo', undetermined: 'sin determinar' },
    grades: {
      A: 'nada que objetar',
      B: 'buena práctica para una casa',
      C: 'débil: se cuenta en renglón aparte',
      D: 'demasiado débil para contar con otras',
      none: 'sin grado',
    },
    doubts: {
      ahead: 'Eso queda en el futuro según el reloj del cuaderno: uno de los dos relojes está mal.',
      'before-what-it-saw': 'Eso es anterior a lo que reemplazó: el reloj de uno de los dos dispositivos estaba mal.',
    },
  },
);
