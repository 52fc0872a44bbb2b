// Units that materials come in, for one and for several.

import { texts } from '../habits/texts';

export const t = texts(
  {
    units: {
      piece: ['piece', 'pieces'],
      sheet: ['sheet', 'sheets'],
      pack: ['pack', 'packs'],
      box: ['box', 'boxes'],
      bag: ['bag', 'bags'],
      roll: ['roll', 'rolls'],
      tube: ['tube', 'tubes'],
      can: ['can', 'cans'],
      kit: ['kit', 'kits'],
      screw: ['screw', 'screws'],
    },
  },
  {
    units: {
      piece: ['pieza', 'piezas'],
      sheet: ['plancha', 'planchas'],
      pack: ['paquete', 'paquetes'],
      box: ['caja', 'cajas'],
      bag: ['bolsa', 'bolsas'],
      roll: ['rollo', 'rollos'],
      tube: ['tubo', 'tubos'],
      can: ['lata', 'latas'],
      kit: ['juego', 'juegos'],
      screw: ['tornillo', 'tornillos'],
    },
  },
);
