// Texts of the sheet around the screens: top line, dock, warnings, joining, and the list of what waits.

import type { LinkState } from '../api/link';
import { habits } from '../habits/habits.svelte';
import { texts } from '../habits/texts';
import type { Item, State } from '../keep/item';
import { momentOf } from '../model/locale';
import { here } from './here';
import type { Standing } from './session.svelte';

export const t = texts(
  {
    onPhone: 'on this phone',
    inBrowser: 'in this browser',
    dock: { label: 'Screens', today: 'Today', log: 'Write', tests: 'Tests', find: 'Find', writeups: 'Write-up' },
    desk: 'Desk',
    asking: 'Asking the notebook …',
    silent: 'The notebook did not answer. Try again; if the code is refused, ask for another.',
    link: {
      checking: 'Looking for the notebook',
      linked: 'Linked',
      away: 'No link to the notebook',
      closing: 'The notebook is closing',
      none: 'Not joined',
    },
    allSent: 'all sent',
    notSent: (count: number) => `${count} not sent`,
    needFix: (count: number) => (count === 1 ? '1 needs a fix' : `${count} need a fix`),
    states: {
      waiting: (where: string) => `Waiting ${where}`,
      sending: 'Being sent',
      sent: 'Sent',
      'needs-a-fix': 'Needs a fix',
      'set-aside': 'Set aside',
      heldUp: 'Waits for another entry',
    },
    broken: {
      title: 'This screen is not here',
      why: 'It belongs to another version than the one that runs, or the notebook is out of reach.',
      load: 'Load the page again',
    },
    missing: {
      title: 'Not found',
      why: 'There is no screen at this address. The bar below and the desk lead to all of them.',
      today: 'Go to today',
    },
    warnings: {
      replaced: 'Another tab went over to a new version. What you typed here stays until you load it.',
      newVersion: 'A new version is here. Save what you are writing first.',
      use: 'Use new version',
      out: 'The notebook does not know this browser any more. What you save waits here until it has joined again.',
      join: 'Join',
      clocks: (local: string, theirs: string) =>
        `This device’s clock and the notebook’s differ by a day or more: here ${local}, there ${theirs}. Set the clock that is wrong; what you write carries this device’s time, and the notebook notes its own beside it.`,
      storage: (why: string) => `This browser keeps nothing here (${why}). What you write can’t be saved until that is mended.`,
    },
  },
  {
    onPhone: 'en este teléfono',
    inBrowser: 'en este navegador',
    dock: { label: 'Pantallas', today: 'Hoy', log: 'Escribir', tests: 'Pruebas', find: 'Buscar', writeups: 'Informe' },
    desk: 'Mesa',
    asking: 'Preguntando al cuaderno …',
    silent: 'El cuaderno no respondió. Intentar de nuevo; si rechaza el código, pedir otro.',
    link: {
      checking: 'Buscando el cuaderno',
      linked: 'Conectado',
      away: 'Sin conexión con el cuaderno',
      closing: 'El cuaderno se está cerrando',
      none: 'Sin entrar',
    },
    allSent: 'todo enviado',
    notSent: (count) => `${count} sin enviar`,
    needFix: (count) => `${count} por corregir`,
    states: {
      waiting: (where) => `En espera ${where}`,
      sending: 'Enviando',
      sent: 'Enviado',
      'needs-a-fix': 'Hay que corregir',
      'set-aside': 'Apartado',
      heldUp: 'Espera a otra línea',
    },
    broken: {
      title: 'Esta pantalla no está aquí',
      why: 'Es de otra versión que la que corre, o el cuaderno está fuera de alcance.',
      load: 'Cargar la página otra vez',
    },
    missing: {
      title: 'No se encontró',
      why: 'No hay pantalla en esta dirección. La barra de abajo y la mesa llevan a todas.',
      today: 'Ir a hoy',
    },
    warnings: {
      replaced: 'Otra pestaña pasó a una versión nueva. Lo escrito aquí se queda hasta cargarla.',
      newVersion: 'Hay una versión nueva. Guardar primero lo que se está escribiendo.',
      use: 'Usar la versión nueva',
      out: 'El cuaderno ya no conoce este navegador. Lo que se guarde espera aquí hasta entrar de nuevo.',
      join: 'Entrar',
      clocks: (local, theirs) =>
        `El reloj de este dispositivo y el del cuaderno difieren en un día o más: aquí ${local}, allá ${theirs}. Ajustar el que está mal; lo escrito lleva la hora de este dispositivo, y el cuaderno anota la suya al lado.`,
      storage: (why) => `Este navegador no guarda nada aquí (${why}). No se puede guardar lo escrito hasta arreglarlo.`,
    },
  },
);

/** How the link stands, in words. */
export function linkWords(link: LinkState, standing: Standing): string {
  const words = t().link;
  if (standing === 'out' || link === 'no-session') return words.none;
  return standing === 'away' ? words.away : words[link];
}

/** How much waits, in words. */
export function waitingWords(open: number, refused: number): string {
  if (open === 0) return t().allSent;
  if (refused === 0) return t().notSent(open);
  return open === refused ? t().needFix(refused) : `${t().notSent(open)}, ${t().needFix(refused)}`;
}

/** Where a draft stands, in words. */
export function stateWords(item: Item, heldUp: readonly Item[]): string {
  const words = t().states;
  if (item.state === 'waiting') return heldUp.length > 0 ? words.heldUp : words.waiting(here());
  const known: Record<Exclude<State, 'waiting'>, string> = words;
  return known[item.state];
}

/** A day and time for people, as their locale writes it. */
export function timeWords(at: number | Date, locale: string = habits.locale): string {
  return momentOf(at, locale);
}
