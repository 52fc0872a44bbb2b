// Texts of the list of what waits.

import { texts } from '../habits/texts';

export const t = texts(
  {
    title: 'Waiting work',
    none: 'Everything written here is in the notebook.',
    kept: 'Kept in this browser until the notebook has it. Nothing is dropped by itself.',
    send: 'Try to send now',
    toFile: 'Save waiting work to a file',
    fileMade: (size: string) =>
      `A file with the waiting work was made (${size}). It stays here too until the notebook has it; on the notebook’s computer, “storypole import” and the file’s name takes it.`,
    roomMade: 'Views that can be fetched again were forgotten. Everything that waits is still here.',
    saved: (when: string) => `Saved ${when}`,
    sent: (when: string) => `, sent ${when}`,
    tried: (times: number) => `, tried ${times} times`,
    elsewhere: 'It was written for another notebook and is sent when this browser joins that one again.',
    buildsOn: (words: string) => `It builds on “${words}”, which is not settled.`,
    file: (name: string, size: string) => `${name}, ${size}`,
    files: 'Files with it',
    edit: 'Edit',
    asItIs: 'Send as it is',
    aside: 'Set aside',
    browser: 'This browser',
    noWorker:
      'Over this address Storypole can’t start without a link to the notebook. On the computer that serves it, or over a trusted https address, it can.',
    ready: 'Storypole opens here without a link to the notebook too.',
    mayClear: 'This browser may clear what waits when it runs out of room. Save it to a file if the notebook stays out of reach for long.',
    promised: 'This browser promised not to clear what waits.',
    use: (used: string, given: string) => `In use: ${used} of ${given} that this browser gives.`,
    room: 'Make room: forget views that can be fetched again',
  },
  {
    title: 'Trabajo en espera',
    none: 'Todo lo escrito aquí está en el cuaderno.',
    kept: 'Se guarda en este navegador hasta que el cuaderno lo tenga. Nada se pierde por sí solo.',
    send: 'Intentar enviar ahora',
    toFile: 'Guardar lo que espera en un archivo',
    fileMade: (size) =>
      `Se hizo un archivo con lo que espera (${size}). También se queda aquí hasta que el cuaderno lo tenga; en la computadora del cuaderno, «storypole import» y el nombre del archivo lo recibe.`,
    roomMade: 'Se olvidaron las vistas que se pueden pedir otra vez. Todo lo que espera sigue aquí.',
    saved: (when) => `Guardado ${when}`,
    sent: (when) => `, enviado ${when}`,
    tried: (times) => `, intentado ${times} veces`,
    elsewhere: 'Se escribió para otro cuaderno y se envía cuando este navegador entre en él otra vez.',
    buildsOn: (words) => `Depende de «${words}», que no está resuelto.`,
    file: (name, size) => `${name} (${size})`,
    files: 'Archivos que lo acompañan',
    edit: 'Editar',
    asItIs: 'Enviar como está',
    aside: 'Apartar',
    browser: 'Este navegador',
    noWorker:
      'Desde esta dirección Storypole no puede abrir sin conexión con el cuaderno. En la computadora que lo sirve, o por una dirección https de confianza, sí puede.',
    ready: 'Storypole también abre aquí sin conexión con el cuaderno.',
    mayClear: 'Este navegador puede borrar lo que espera si se queda sin espacio. Guardarlo en un archivo si el cuaderno tarda en estar al alcance.',
    promised: 'Este navegador prometió no borrar lo que espera.',
    use: (used, given) => `En uso: ${used} de ${given} que da este navegador.`,
    room: 'Hacer espacio: olvidar vistas que se pueden pedir otra vez',
  },
);
