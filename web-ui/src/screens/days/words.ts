// What the list of all days says.
import { texts } from '../../habits/texts';

export const t = texts(
  {
    title: 'All days',
    site: 'Site',
    allSites: 'All sites',
    what: 'the list of entries',
    empty: (isOneSite: boolean) => `Nothing is written yet${isOneSite ? ' at this site' : ''}.`,
    count: (entries: number) => `${entries === 1 ? '1 entry' : `${entries} entries`}, newest day first.`,
    list: 'Entries, newest day first',
    noDay: 'Day not written',
    more: 'Fetching more …',
  },
  {
    title: 'Todos los días',
    site: 'Sitio',
    allSites: 'Todos los sitios',
    what: 'la lista de líneas',
    empty: (isOneSite) => `Todavía no hay nada escrito${isOneSite ? ' en este sitio' : ''}.`,
    count: (entries) => `${entries === 1 ? '1 línea' : `${entries} líneas`}, el día más nuevo primero.`,
    list: 'Líneas, el día más nuevo primero',
    noDay: 'Día sin escribir',
    more: 'Buscando más …',
  },
);
