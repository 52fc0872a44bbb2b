// What the screen for clip marks says.
import { texts } from '../../habits/texts';

export const t = texts({ title: 'Clip mark' }, { title: 'Marca de video' });
