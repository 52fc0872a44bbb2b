// What is said of cautions. Their own words come from the notebook.
import { texts } from '../habits/texts';

export const t = texts(
  {
    waits: 'read, waits to be sent',
    read: 'read',
    newAgain: 'new again',
    notRead: 'not read',
    someone: 'someone',
    readBy: (who: string) => `Read by ${who}`,
    readThen: (who: string) => `Read by ${who} when it said:`,
    readBeforeUnknown: (who: string) => `Read by ${who}; what it said then was not kept`,
    unread: (count: number, subjects: string) => `${count === 1 ? '1 caution' : `${count} cautions`} not read: ${subjects}`,
    title: 'Cautions',
    titleFor: (about: string) => `Cautions for ${about}`,
  },
  {
    waits: 'leída, en espera de enviarse',
    read: 'leída',
    newAgain: 'nueva otra vez',
    notRead: 'sin leer',
    someone: 'alguien',
    readBy: (who) => `Leída por ${who}`,
    readThen: (who) => `Leída por ${who} cuando decía:`,
    readBeforeUnknown: (who) => `Leída por ${who}; no se guardó lo que decía entonces`,
    unread: (count, subjects) => `${count === 1 ? '1 advertencia' : `${count} advertencias`} sin leer: ${subjects}`,
    title: 'Advertencias',
    titleFor: (about) => `Advertencias de ${about}`,
  },
);
