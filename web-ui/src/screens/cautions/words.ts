// What the screen for cautions says. The cautions' own words come from the notebook.
import { texts } from '../../habits/texts';

export const t = texts(
  {
    what: 'the cautions',
    none: 'Nothing written down here meets the condition of a caution.',
    limits: 'The notebook knows only what it holds: a caution that is missing says nothing. Where work can hurt someone, ask your local building department or a licensed trade.',
    because: 'Shown because:',
    source: 'Source:',
    note: 'Note',
    mayStayEmpty: 'may stay empty',
    haveRead: 'I have read',
    quoted: (subject: string) => `“${subject}”`,
    forAll: (jobs: string) => `for ${jobs}`,
    noteHazard: 'Note a hazard',
    saved: (subject: string) => `Saved: ${subject} was read.`,
    echo: (subject: string, about: string) => `Read: ${subject}, ${about}`,
    full: 'There is no room left here: nothing was saved. Make room under “waiting”.',
    failed: (why: string) => `This browser could not save it (${why}).`,
  },
  {
    what: 'las advertencias',
    none: 'Nada de lo escrito aquí cumple la condición de una advertencia.',
    limits: 'El cuaderno solo sabe lo que tiene escrito: que falte una advertencia no dice nada. Donde el trabajo puede lastimar a alguien, preguntar a la oficina local de construcción o a un oficio con licencia.',
    because: 'Se muestra porque:',
    source: 'Fuente:',
    note: 'Nota',
    mayStayEmpty: 'puede quedar vacía',
    haveRead: 'Leí',
    quoted: (subject) => `“${subject}”`,
    forAll: (jobs) => `para ${jobs}`,
    noteHazard: 'Anotar un peligro',
    saved: (subject) => `Guardado: se leyó ${subject}.`,
    echo: (subject, about) => `Leída: ${subject}, ${about}`,
    full: 'Aquí ya no hay espacio: no se guardó nada. Hacer espacio en “en espera”.',
    failed: (why) => `Este navegador no pudo guardarlo (${why}).`,
  },
);
