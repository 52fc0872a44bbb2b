// Names of fields as people read them. English is the stored name in plain words, but for those here; Spanish has every one:
// unit/screens/fields.test.ts reads the notebook's own list.

import { habits } from '../../habits/habits.svelte';

const EN: Record<string, string> = {
  label: 'short name', built_year: 'year built', label_r: 'R-value on the label', volume_m3: 'volume', envelope_m2: 'envelope', face_m2: 'face',
  content_ml: 'content, ml', at_s: 'time in the file, s', duration_s: 'duration, s', meter_kind: 'kind of meter', entry_kind: 'kind of line', opening_kind: 'kind of opening',
  worth_of_db: 'worth of one decibel', x: 'from the left wall', y: 'from the tested wall', z: 'above the floor', room_a: 'room on side A', room_b: 'room on side B', leaf_a: 'leaf A', leaf_b: 'leaf B',
};

const ES: Record<string, string> = {
  name: 'nombre', currency: 'moneda', background_rule: 'regla del ruido de fondo', own_labour_counted: 'cuentan las horas propias',
  worth_of_db: 'valor de un decibel', label: 'nombre corto', role: 'función', rate: 'costo por hora', crew: 'de la cuadrilla', device: 'dispositivo',
  person: 'persona', description: 'descripción', address: 'dirección', built_year: 'año de construcción', volume_m3: 'volumen', envelope_m2: 'envolvente',
  climate_zone: 'zona climática', site: 'sitio', length: 'largo', width: 'ancho', height: 'alto', fuel_appliance: 'aparato de combustión', title: 'título',
  started: 'primer día', finished: 'último día', estimate: 'costo estimado', goal: 'meta', note: 'nota', paid: 'trabajo pagado', job: 'obra', room: 'cuarto',
  state: 'estado', blocked_by: 'qué la bloquea', waits_for: 'espera a', owner: 'quién la hace', hours: 'horas', due: 'para el día', evidence: 'prueba de que está hecha',
  element: 'elemento', room_a: 'cuarto del lado A', room_b: 'cuarto del lado B', replaces: 'reemplaza a', design: 'diseño', since: 'desde', face_m2: 'cara',
  leaf_a: 'hoja A', frame: 'armazón', cavity: 'cavidad', leaf_b: 'hoja B', openings: 'aberturas', seals: 'sellos', between: 'entre', fire_rated: 'resistente al fuego',
  stud_face: 'cara del montante', stud_spacing: 'separación de montantes', first_stud: 'primer montante', layout_from: 'trazo desde', studs_at: 'montantes en',
  plate_count: 'soleras', runs: 'tramos', assembly: 'conjunto', opening_kind: 'clase de abertura', left: 'borde izquierdo', head: 'borde de arriba', header_depth: 'alto del dintel',
  sill: 'borde de abajo', sill_plates: 'soleras de abajo', depth: 'alto propio', right: 'borde derecho', date: 'día', entry_kind: 'clase de línea', text: 'texto', low: 'mínima',
  high: 'máxima', weather: 'clima', hours_lost: 'horas perdidas', outcome: 'resultado', cost_effect: 'efecto en el costo', entry: 'línea', unit: 'unidad', pack_unit: 'nombre del paquete',
  pack_size: 'unidades por paquete', thickness: 'espesor', division: 'división', valued: 'se valora lo que queda', form: 'forma', made_of: 'hecho de', label_r: 'valor R de la etiqueta',
  content_ml: 'contenido, ml', supplier: 'proveedor', number: 'número', tax_rate: 'tasa de impuesto, %', printed_tax: 'impuesto impreso', printed_total: 'total impreso', returns: 'devuelve',
  memo: 'apunte', exchange_rate: 'tipo de cambio', receipt: 'recibo', place: 'lugar', material: 'material', item: 'artículo', quantity: 'cantidad', unit_price: 'precio unitario',
  discount: 'descuento', taxed: 'con impuesto', cost_group: 'grupo de costo', from_site: 'del sitio', from_job: 'de la obra', to_site: 'al sitio', to_job: 'a la obra',
  sealed_packs: 'paquetes cerrados', loose: 'sueltas', damaged: 'dañadas', lies_at: 'dónde está', use_by: 'usar antes del', line: 'renglón', hazard: 'riesgo', meter_kind: 'clase de medidor',
  class: 'clase', serial: 'número de serie', full_scale: 'escala completa', meter: 'medidor', set: 'serie', nominal: 'nominal', before: 'antes', after: 'después', hash: 'contenido',
  duration_s: 'duración, s', question: 'pregunta', measures: 'qué mide', bench_rig: 'banco de prueba', planned: 'planeada', method: 'método', order_seed: 'semilla del orden',
  test: 'prueba', stage: 'etapa', from_room: 'cuarto de la fuente', to_room: 'cuarto que recibe', signal: 'sonido de prueba', operator: 'quién la tomó', started_at: 'empezó',
  response: 'respuesta', included: 'se incluye', left_out: 'se deja fuera', control: 'de control', variable: 'variable', wanted: 'lo que se pide', condition: 'condición', value: 'valor',
  status: 'si se mantuvo', side: 'lado', x: 'desde la pared izquierda', y: 'desde la pared probada', z: 'sobre el piso', position: 'punto', subject: 'de qué', replicate: 'repetición',
  taken_at: 'cuándo se tomó', photo: 'foto', bands: 'bandas', recording: 'grabación', calibration: 'calibración', cut_out: 'recortado', clipped: 'saturaciones', lossy: 'formato con pérdida',
  file: 'archivo', at_s: 'tiempo en el archivo, s', about: 'sobre', bytes: 'bytes', media_type: 'tipo de archivo', caption: 'leyenda', cover_up: 'antes de cerrar la pared',
  caution: 'advertencia', facts: 'hechos', intro: 'inicio', conclusion: 'conclusión', disclosure: 'declaración', also: 'también sobre', order: 'orden', suppliers: 'nombrar proveedores',
  photos: 'fotos', link: 'enlace', licence: 'licencia', figure: 'figura', writeup: 'informe', numbers: 'números',
};

/** A field's name for people. */
export function fieldWords(field: string): string {
  const table = habits.language === 'es' ? ES : EN;
  return (Object.hasOwn(table, field) ? table[field] : undefined) ?? field.replaceAll('_', ' ');
}
