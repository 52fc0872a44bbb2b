// What is said of a form of the stock.
import { texts } from '../habits/texts';

export const t = texts(
  {
    nothing_counted: 'Write what was counted: packs, loose or damaged',
    no_job: 'Choose the job it is carried to',
    more_than_left: (left: string, unit: string) => `The notebook knows of ${left} ${unit} here: is that right?`,
  },
  {
    nothing_counted: 'Escribir lo que se contó: paquetes, sueltos o dañados',
    no_job: 'Elegir la obra a la que se lleva',
    more_than_left: (left, unit) => `El cuaderno conoce ${left} ${unit} aquí: ¿es correcto?`,
  },
);
