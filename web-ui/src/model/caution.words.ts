// What is said of cautions that nobody has read.
import { texts } from '../habits/texts';

export const t = texts(
  {
    unread: (count: number, subjects: string) => `${count === 1 ? '1 caution' : `${count} cautions`} not read: ${subjects}`,
  },
  {
    unread: (count, subjects) => `${count === 1 ? '1 advertencia' : `${count} advertencias`} sin leer: ${subjects}`,
  },
);
