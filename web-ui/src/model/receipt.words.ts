// What is said of a receipt while it is typed, and of amounts, numbers and days in the desk's other forms.
import { texts } from '../habits/texts';

export const t = texts(
  {
    adds_up: 'Adds up',
    nothing_printed: 'Nothing printed to compare with yet',
    unreadable: 'A line cannot be read yet',
    more: (by: string) => `${by} more than printed`,
    less: (by: string) => `${by} less than printed`,
    tax_differs: (printed: string, computed: string) => `Tax printed is ${printed}, the rate gives ${computed}`,
    compare: 'Compare each line with the paper, or leave it as it is printed',
    no_line: 'Write at least one line',
    nothing_back: 'Write how many of a line go back',
    no_item: 'Write what is printed, 200 letters at most',
    no_number: 'One number, like 12, with decimals and no fractions',
    nothing: 'More than nothing: write how many, or take the line out',
    no_rate: 'A rate in percent, from 0 to 100',
    no_supplier: 'Write the supplier’s name',
    known_supplier: 'That supplier is known already: choose it in the list',
  },
  {
    adds_up: 'Cuadra',
    nothing_printed: 'Todavía no hay nada impreso con que comparar',
    unreadable: 'Hay una línea que todavía no se puede leer',
    more: (by) => `${by} más que lo impreso`,
    less: (by) => `${by} menos que lo impreso`,
    tax_differs: (printed, computed) => `El impuesto impreso es ${printed}, la tasa da ${computed}`,
    compare: 'Comparar cada línea con el papel, o dejarlo como está impreso',
    no_line: 'Escribir al menos una línea',
    nothing_back: 'Escribir cuántos de una línea se devuelven',
    no_item: 'Escribir lo que está impreso, 200 letras como máximo',
    no_number: 'Un número, como 12, con decimales y no fracciones',
    nothing: 'Más que nada: escribir cuántos, o quitar la línea',
    no_rate: 'Una tasa en por ciento, de 0 a 100',
    no_supplier: 'Escribir el nombre del proveedor',
    known_supplier: 'Ese proveedor ya se conoce: elegirlo en la lista',
  },
);
