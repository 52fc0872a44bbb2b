// What a viewer is told in place of a form.
import { texts } from '../habits/texts';

export const t = texts(
  {
    words: 'You may look, not write: this browser was let in as a viewer.',
    next: 'A keeper of the notebook can let it in as crew.',
  },
  {
    words: 'Se puede mirar, no escribir: este navegador entró solo para lectura.',
    next: 'Un encargado del cuaderno puede dejarlo entrar como cuadrilla.',
  },
);
