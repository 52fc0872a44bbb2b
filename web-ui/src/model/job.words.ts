// What is said of a new job or task that cannot be kept as it is.
import { texts } from '../habits/texts';

export const t = texts(
  {
    no_title: 'Write what the job is, 200 letters at most',
    no_site: 'Choose the site',
    no_task: 'Write what is to be done, 200 letters at most',
    no_hours: 'One number of hours, like 7.5',
  },
  {
    no_title: 'Escribir qué es la obra, 200 letras como máximo',
    no_site: 'Elegir el sitio',
    no_task: 'Escribir qué hay que hacer, 200 letras como máximo',
    no_hours: 'Un número de horas, como 7.5',
  },
);
