/** Which of the three lights the screens stand in, remembered on this device. `phone` follows the system. */

export const LIGHTS = ['phone', 'paper', 'night', 'sun'] as const;
export type Light = (typeof LIGHTS)[number];

const KEY = 'light';

/** The light that was chosen here last; the system's where none was, or where nothing can be remembered. */
export function chosenLight(): Light {
  try {
    const kept = localStorage.getItem(KEY);
    return LIGHTS.find((light) => light === kept) ?? 'phone';
  } catch {
    return 'phone'; // Storage may be shut off altogether.
  }
}

/** Puts the page into a light. Call it before the first screen is drawn, so that none flashes. */
export function showLight(light: Light): void {
  const { dataset } = document.documentElement;
  if (light === 'phone') delete dataset['light'];
  else dataset['light'] = light;
}

/** Puts the page into a light and remembers it. */
export function chooseLight(light: Light): void {
  showLight(light);
  try {
    localStorage.setItem(KEY, light);
  } catch {
    // The choice then holds until the page is closed.
  }
}
