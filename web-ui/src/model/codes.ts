// The words of choices (stages, kinds, groups, states), grades' bounds and kinds of records, as people read them, in the language of the
// screens. English words are mostly the stored ones; unit/model/codes.test.ts sees that Spanish lacks none of the notebook's choices.

import { habits } from '../habits/habits.svelte';

const EN: Record<string, string> = {
  leq: 'Leq (average)',
  'fast-max': 'fast, highest',
  'slow-max': 'slow, highest',
  astm_e336: 'ASTM E336',
  astm_e336_19a: 'ASTM E336-19a',
  iso16283: 'ISO 16283',
  'boarded-a': 'boarded on side A',
  'boarded-both': 'boarded on both sides',
  'single-steel-thin': 'single, thin steel',
  'single-steel-structural': 'single, structural steel',
  'single-wood': 'single, wood',
  'ran out': 'ran out of time',
};

/** Spanish, with spaces for the hyphens of the stored word. */
const ES: Record<string, string> = {
  // Tasks and lines of the day log.
  'to do': 'por hacer', doing: 'en curso', blocked: 'bloqueada', done: 'hecha', checked: 'revisada',
  work: 'trabajo', delivery: 'entrega', delay: 'demora', inspection: 'inspección', decision: 'decisión', safety: 'seguridad',
  snag: 'detalle pendiente', visitor: 'visita', note: 'nota',
  passed: 'aprobada', failed: 'no aprobada', partly: 'en parte', 'not done': 'no hecha',
  // Sets and readings.
  before: 'antes', 'open studs': 'montantes a la vista', filled: 'relleno puesto', boarded: 'con placas', finished: 'terminado',
  after: 'después', repeat: 'repetición',
  source: 'fuente', receive: 'recepción', background: 'ruido de fondo', direct: 'directo',
  level: 'nivel', 'level difference': 'diferencia de nivel', 'inside air': 'aire interior', 'outside air': 'aire exterior',
  surface: 'superficie', moisture: 'humedad de la madera', 'smoke paths': 'pasos de humo', flow: 'caudal', pressure: 'presión', light: 'luz',
  humidity: 'humedad del aire', reverberation: 'reverberación', 'outside surface': 'superficie exterior', 'heat flow': 'flujo de calor',
  'resting pressure': 'presión en reposo',
  leq: 'Leq (promedio)', 'fast max': 'rápida, máximo', 'slow max': 'lenta, máximo', fast: 'rápida', slow: 'lenta', spot: 'puntual',
  same: 'igual', corrected: 'corregida', changed: 'cambió', unknown: 'no se sabe',
  critical: 'crítica', important: 'importante', minor: 'menor',
  'air leakage': 'fuga de aire', thermal: 'térmica', 'thermal resistance': 'resistencia térmica', temperature: 'temperatura', other: 'otro',
  astm_e336: 'ASTM E336', astm_e336_19a: 'ASTM E336-19a', iso16283: 'ISO 16283',
  subtracted: 'restado', limit: 'límite', octave: 'octava', third: 'tercio de octava',
  // Money.
  material: 'material', rental: 'alquiler', tool: 'herramienta', subcontract: 'subcontrato', permit: 'permiso', disposal: 'retiro de escombro',
  testing: 'pruebas', travel: 'viaje', overhead: 'gastos generales', credit: 'abono',
  // Walls.
  wall: 'pared', ceiling: 'techo', floor: 'piso', door: 'puerta', rim: 'borde de entrepiso', panel: 'panel',
  rooms: 'cuartos', dwellings: 'viviendas', garage: 'garaje', outside: 'exterior', shaft: 'ducto vertical',
  batt: 'manta', 'loose fill': 'relleno suelto', sheet: 'plancha', tube: 'tubo', channel: 'canal', screws: 'tornillos', tape: 'cinta',
  stick: 'pieza larga',
  'glass fibre': 'fibra de vidrio', 'stone wool': 'lana de roca', cellulose: 'celulosa', cotton: 'algodón', foam: 'espuma', gypsum: 'yeso',
  cement: 'cemento', wood: 'madera', steel: 'acero', sealant: 'sellador', 'polystyrene foam': 'espuma de poliestireno',
  'polyiso foam': 'espuma de poliiso', 'open cell foam': 'espuma de celda abierta', 'closed cell foam': 'espuma de celda cerrada', sand: 'arena',
  window: 'ventana', hatch: 'escotilla', 'pass through': 'pasaplatos', grille: 'rejilla', crack: 'grieta', gasket: 'burlete',
  'bare studs': 'montantes sin placa', 'boarded a': 'con placas en el lado A', 'boarded both': 'con placas en los dos lados',
  open: 'abierto', 'single wood': 'simple, madera', 'single steel thin': 'simple, acero delgado', 'single steel structural': 'simple, acero estructural',
  resilient: 'canal resiliente', clip: 'clip', staggered: 'alternado', double: 'doble', solid: 'macizo', none: 'ninguno', empty: 'vacía',
  left: 'izquierda', right: 'derecha',
  // Cautions.
  'mineral fibre': 'fibra mineral', 'silica dust': 'polvo de sílice', 'old paint': 'pintura vieja', 'suspect material': 'material sospechoso',
  'loud work': 'trabajo ruidoso', 'box work': 'trabajo en cajas eléctricas', 'hot light or flue': 'lámpara o chimenea caliente',
  'fuel appliance': 'aparato de combustión', 'rated wall': 'pared resistente al fuego', 'hole through plates': 'agujero en soleras',
  'open outside wall': 'pared exterior abierta', 'cut framing': 'armazón cortado', 'heavy board': 'placa pesada', ladder: 'escalera',
  'permit work': 'trabajo con permiso', 'dust indoors': 'polvo adentro', 'heavy lifting': 'carga pesada', mould: 'moho', animals: 'animales',
  'old wiring': 'cableado viejo',
  // Classes of meters, what a change says, devices.
  '1': '1', '2': '2',
  claimed: 'se afirma', 'at least': 'al menos', 'at most': 'a lo sumo', 'no claim': 'no se afirma', undetermined: 'sin determinar',
  exact: 'exacto', 'clearly better': 'claramente mejor', 'probably better': 'probablemente mejor', 'cannot tell': 'no se puede decir',
  keeper: 'encargado', crew: 'cuadrilla', viewer: 'solo lectura', device: 'dispositivo', browser: 'navegador',
  used: 'usado', voided: 'anulado', 'ran out': 'se venció', 'taken back': 'retirado',
  'not yet': 'todavía no', syncing: 'sincronizando', synced: 'sincronizado', failing: 'falla',
  waiting: 'en espera', sending: 'enviando', sent: 'enviado', 'needs a fix': 'hay que corregir', 'set aside': 'apartado',
  yes: 'sí', no: 'no',
};

/** Kinds of records: one, in English and Spanish. */
const KINDS: Record<string, readonly [string, string]> = {
  notebook: ['notebook', 'cuaderno'],
  person: ['person', 'persona'],
  device: ['device', 'dispositivo'],
  site: ['site', 'sitio'],
  room: ['room', 'cuarto'],
  job: ['job', 'obra'],
  task: ['task', 'tarea'],
  assembly: ['assembly', 'conjunto'],
  opening: ['opening', 'abertura'],
  blocking: ['blocking', 'travesaños'],
  entry: ['line of the day log', 'línea del diario'],
  hours: ['hours', 'horas'],
  supplier: ['supplier', 'proveedor'],
  material: ['material', 'material'],
  receipt: ['receipt', 'recibo'],
  line: ['line of a receipt', 'renglón de recibo'],
  use: ['use of material', 'uso de material'],
  waste: ['waste', 'desperdicio'],
  move: ['move of material', 'traslado de material'],
  count: ['count', 'conteo'],
  hazard: ['hazard', 'riesgo'],
  meter: ['meter', 'medidor'],
  check: ['calibration check', 'verificación de calibración'],
  signal: ['test sound', 'sonido de prueba'],
  test: ['test', 'prueba'],
  set: ['set', 'serie'],
  condition: ['condition', 'condición'],
  found: ['condition as found', 'condición encontrada'],
  position: ['position', 'punto'],
  reading: ['reading', 'lectura'],
  clip: ['clip mark', 'marca de video'],
  photo: ['photo or file', 'foto o archivo'],
  acknowledgement: ['caution read', 'advertencia leída'],
  writeup: ['write-up', 'informe'],
  edition: ['edition', 'edición'],
};

/** A choice's word for people; a word this version does not know is shown as it is, hyphens apart. */
export function codeWords(word: string): string {
  const spaced = word.replaceAll('-', ' ');
  return (habits.language === 'es' ? own(ES, spaced) : own(EN, word)) ?? spaced;
}

/** What one record of a kind is called. */
export function kindWords(kind: string): string {
  return own(KINDS, kind)?.[habits.language === 'es' ? 1 : 0] ?? kind;
}

function own<T>(table: Record<string, T>, name: string): T | undefined {
  return Object.hasOwn(table, name) ? table[name] : undefined;
}
