// What is said of marks while filming, on their own screen and on Today.
import { texts } from '../habits/texts';

export const t = texts(
  {
    numbered: (number: number) => `mark ${number}`,
    film: (day: string, number: number) => `${day} film ${number}`,
    time: 'A time like 3:30 or 1:02:03, or seconds',
    longest: 'Longer than any file here: look at the time again',
    markNext: (subject: string) => `Mark${subject && `: ${subject}`}`,
    paused: 'paused',
    open: 'Subject, pause, all marks',
    saved: (time: string, subject: string) => `${time} ${subject}: saved.`,
    full: (time: string) => `There is no room left here: the mark at ${time} was not saved. Make room under “waiting”, then enter it by hand.`,
    failed: (time: string, why: string) => `This browser could not save the mark at ${time} (${why}). Enter it by hand.`,
    echo: (time: string, file: string, subject: string) => `Mark ${time} in ${file}: ${subject}`,
  },
  {
    numbered: (number) => `marca ${number}`,
    film: (day, number) => `${day} video ${number}`,
    time: 'Un tiempo como 3:30 o 1:02:03, o segundos',
    longest: 'Más largo que cualquier archivo de aquí: revisar el tiempo',
    markNext: (subject) => `Marcar${subject && `: ${subject}`}`,
    paused: 'en pausa',
    open: 'Tema, pausa, todas las marcas',
    saved: (time, subject) => `${time} ${subject}: guardada.`,
    full: (time) => `Aquí ya no hay espacio: la marca de ${time} no se guardó. Hacer espacio en “en espera” y anotarla a mano.`,
    failed: (time, why) => `Este navegador no pudo guardar la marca de ${time} (${why}). Anotarla a mano.`,
    echo: (time, file, subject) => `Marca ${time} en ${file}: ${subject}`,
  },
);
