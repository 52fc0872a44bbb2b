// What the list of cautions says of each. Their own words come from the notebook.
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
    title: 'Advertencias',
    titleFor: (about) => `Advertencias de ${about}`,
  },
);
