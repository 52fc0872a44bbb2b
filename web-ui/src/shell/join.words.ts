// Texts of the screen that lets a browser in.
import { texts } from '../habits/texts';

export const t = texts(
  {
    title: 'Join the notebook',
    joined: 'This browser has joined already. A new code is needed only for another notebook.',
    away: 'The notebook does not answer, and this browser has not joined one yet. It is asked again by itself.',
    how: 'The notebook does not know this browser. Ask someone who is in for a code: the screen “Devices” shows one, as a picture for a phone’s camera too. Or open the address that was printed when the notebook was started.',
    waits: (count: number) => `${count === 1 ? '1 entry waits' : `${count} entries wait`} in this browser and will be sent after joining.`,
    look: 'Look at what waits',
    field: 'Code of eight letters, one-time key, or the whole address',
    empty: 'Paste the key or type the code first.',
    act: 'Join',
    usedUp: 'No code, or it is used up? Each lets one browser in, and for ten minutes only: ask for another.',
  },
  {
    title: 'Entrar al cuaderno',
    joined: 'Este navegador ya entró. Solo hace falta otro código para otro cuaderno.',
    away: 'El cuaderno no responde, y este navegador no ha entrado a ninguno. Se le pregunta otra vez por sí solo.',
    how: 'El cuaderno no conoce este navegador. Pedir un código a quien ya esté dentro: la pantalla «Dispositivos» lo muestra, también como imagen para la cámara de un teléfono. O abrir la dirección que se imprimió al iniciar el cuaderno.',
    waits: (count) => `${count === 1 ? '1 línea espera' : `${count} líneas esperan`} en este navegador y se enviarán después de entrar.`,
    look: 'Ver lo que espera',
    field: 'Código de ocho letras, llave de un uso, o la dirección entera',
    empty: 'Pegar la llave o escribir el código primero.',
    act: 'Entrar',
    usedUp: '¿Sin código, o ya usado? Cada uno deja entrar a un navegador, y solo por diez minutos: pedir otro.',
  },
);
