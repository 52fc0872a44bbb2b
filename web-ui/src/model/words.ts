// Texts of the readers and printers in this folder.

import { texts } from '../habits/texts';

/** What may be wrong with what was typed, and how numbers and records are told. */
export const t = texts(
  {
    text: {
      empty: 'Write what happened: this can’t stay empty',
      long: (letters: number, most: number) => `${letters} letters are too many: ${most} fit. Make two entries of it`,
      control: 'There is a character in it that can’t be seen or printed: type it again',
    },
    decimal: (sign: string, example: string) => `Write ${sign === ',' ? 'a comma, not a point' : 'a point, not a comma'}, like ${example}`,
    hours: {
      empty: (example: string) => `Write the hours, like ${example}, or take the person off`,
      shape: (example: string) => `One number of hours, like ${example}`,
      none: 'Write more than 0 hours, or take the person off',
      many: 'A day has 24 hours',
      ask: (hours: string) => `${hours} hours in one day: is that right?`,
    },
    level: {
      empty: (example: string) => `Write what the meter shows, like ${example}`,
      shape: (example: string) => `One number, one decimal, like ${example}`,
      under: (low: number) => `Under ${low} dB: no meter here shows that. Look at the display again`,
      over: (high: number) => `Over ${high} dB: no meter here shows that. Look at the display again`,
      ask: (level: string, low: number, high: number) =>
        `${level} dB is outside ${low} to ${high}, where rooms and music mostly are: is that what the meter shows?`,
    },
    date: {
      empty: 'Choose the day',
      shape: 'A day as year, month, day, like 2025-03-04',
      none: 'There is no such day in the calendar',
      range: 'A day between 1950 and 2199',
      ask: 'That day is still to come: is that right?',
    },
    currency: 'Three letters, like EUR or USD',
    length: {
      empty: (example: string) => `Write the length with its unit, like 8' 3 1/2" or ${example} mm`,
      minus: 'A length is more than nothing: leave the minus out',
      thousands: (number: string) => `${number}: is that point a decimal sign? Write it without a point between the thousands`,
      bare: (number: string) => `${number} of what? Write ${number}' for feet, ${number}" for inches or ${number} mm`,
      shape: 'Write feet and inches like 8\' 3 1/2", inches like 99 1/2", or millimetres like 2520 mm',
      mark: 'Write the inch mark behind the inches, like 8-3 1/2" or 99 1/2"',
      inches: (inches: string) => `${inches} inches are a foot or more: write them as feet and inches`,
      both: 'Write a decimal or a fraction, not both',
      decimals: 'More decimals than a tape shows',
      tape: (fraction: string) => `No tape has ${fraction}": halves, quarters, 8ths, 16ths, 32nds or 64ths`,
      part: (fraction: string) => `${fraction} is no part of an inch: the upper number is less than the lower`,
      far: 'Longer than ten kilometres: look at the unit again',
      about: 'about',
    },
    money: {
      empty: (example: string) => `Write the amount, like ${example}`,
      minus: 'An amount here is not below nothing: leave the minus out',
      shape: (example: string) => `An amount like ${example} or 48, without the currency`,
    },
    number: {
      empty: 'Write a number',
      shape: (example: string) => `One number, like ${example}`,
      whole: 'A whole number, without decimals',
      range: (low: string, high: string) => `A number from ${low} to ${high}`,
    },
    required: 'This can’t stay empty',
  },
  {
    text: {
      empty: 'Escribir lo que pasó: no puede quedar vacío',
      long: (letters, most) => `${letters} letras son demasiadas: caben ${most}. Hacer dos líneas`,
      control: 'Hay un carácter que no se ve ni se imprime: escribirlo de nuevo',
    },
    decimal: (sign, example) => `Escribir ${sign === ',' ? 'coma, no punto' : 'punto, no coma'}, como ${example}`,
    hours: {
      empty: (example) => `Escribir las horas, como ${example}, o quitar a la persona`,
      shape: (example) => `Un solo número de horas, como ${example}`,
      none: 'Escribir más de 0 horas, o quitar a la persona',
      many: 'Un día tiene 24 horas',
      ask: (hours) => `${hours} horas en un día: ¿está bien?`,
    },
    level: {
      empty: (example) => `Escribir lo que marca el medidor, como ${example}`,
      shape: (example) => `Un número con un decimal, como ${example}`,
      under: (low) => `Menos de ${low} dB: ningún medidor de aquí marca eso. Mirar otra vez la pantalla`,
      over: (high) => `Más de ${high} dB: ningún medidor de aquí marca eso. Mirar otra vez la pantalla`,
      ask: (level, low, high) => `${level} dB queda fuera de ${low} a ${high}, lo usual en cuartos y música: ¿es lo que marca el medidor?`,
    },
    date: {
      empty: 'Elegir el día',
      shape: 'Un día como año, mes, día: 2025-03-04',
      none: 'Ese día no existe en el calendario',
      range: 'Un día entre 1950 y 2199',
      ask: 'Ese día todavía no llega: ¿está bien?',
    },
    currency: 'Tres letras, como EUR o USD',
    length: {
      empty: (example) => `Escribir el largo con su unidad, como 8' 3 1/2" o ${example} mm`,
      minus: 'Un largo es más que nada: quitar el signo menos',
      thousands: (number) => `${number}: ¿ese punto es decimal? Escribirlo sin punto entre los miles`,
      bare: (number) => `¿${number} de qué? Escribir ${number}' para pies, ${number}" para pulgadas o ${number} mm`,
      shape: 'Escribir pies y pulgadas como 8\' 3 1/2", pulgadas como 99 1/2", o milímetros como 2520 mm',
      mark: 'Escribir la marca de pulgadas detrás, como 8-3 1/2" o 99 1/2"',
      inches: (inches) => `${inches} pulgadas hacen un pie o más: escribirlas como pies y pulgadas`,
      both: 'Escribir un decimal o una fracción, no los dos',
      decimals: 'Más decimales de los que marca una cinta',
      tape: (fraction) => `Ninguna cinta tiene ${fraction}": medios, cuartos, octavos, 16avos, 32avos o 64avos`,
      part: (fraction) => `${fraction} no es parte de una pulgada: el número de arriba es menor que el de abajo`,
      far: 'Más de diez kilómetros: revisar la unidad',
      about: 'cerca de',
    },
    money: {
      empty: (example) => `Escribir el monto, como ${example}`,
      minus: 'Aquí un monto no baja de cero: quitar el signo menos',
      shape: (example) => `Un monto como ${example} o 48, sin la moneda`,
    },
    number: {
      empty: 'Escribir un número',
      shape: (example) => `Un solo número, como ${example}`,
      whole: 'Un número entero, sin decimales',
      range: (low, high) => `Un número de ${low} a ${high}`,
    },
    required: 'No puede quedar vacío',
  },
);
