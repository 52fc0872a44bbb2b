// What a form says of keeping what was typed.
import { texts } from '../habits/texts';

export const t = texts(
  {
    again: 'Press Save again to keep it',
    refused: (why: string) => `It was refused: ${why}`,
    full: 'There is no room left here: nothing was saved. Make room under “waiting”, then press Save again; what is typed stays.',
    failed: (why: string) => `This browser could not save it (${why}). What is typed stays here.`,
  },
  {
    again: 'Pulsar Guardar otra vez para conservarlo',
    refused: (why) => `Se rechazó: ${why}`,
    full: 'No queda espacio aquí: no se guardó nada. Hacer espacio en «en espera» y pulsar Guardar otra vez; lo escrito se queda.',
    failed: (why) => `Este navegador no pudo guardarlo (${why}). Lo escrito se queda aquí.`,
  },
);
