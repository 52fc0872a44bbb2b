// What this person is used to: language, units, and how dates and numbers are written. Kept in this browser alone; the notebook
// holds no such thing. Leaves out currency, which is the notebook's.

/** Languages the screens speak. */
export const LANGUAGES = ['en', 'es'] as const;
export type Language = (typeof LANGUAGES)[number];
/** Feet and inches, °F, or millimetres, °C. */
export const UNIT_WAYS = ['ft-in', 'metric'] as const;
export type UnitWay = (typeof UNIT_WAYS)[number];

const KEPT = { language: 'language', units: 'units' } as const;
/** Countries that build in feet and inches: common practice, no source. */
const FEET = new Set(['US', 'CA', 'LR', 'MM']);

const spoken: readonly string[] = typeof navigator === 'undefined' ? [] : (navigator.languages ?? []);

let language = $state<Language>(kept(KEPT.language, LANGUAGES) ?? spokenFirst());
let units = $state<UnitWay>(kept(KEPT.units, UNIT_WAYS) ?? usualUnits());

/** Language, units and locale in force; all three are reactive. */
export const habits = {
  get language(): Language {
    return language;
  },
  get units(): UnitWay {
    return units;
  },
  /** BCP 47: the browser's own where it speaks the chosen language, so that a reader in Ireland keeps Irish dates. */
  get locale(): string {
    return spoken.find((one) => one.toLowerCase().split('-')[0] === language) ?? (language === 'en' ? 'en-GB' : 'es');
  },
};

/** Chooses the language of the screens. */
export function chooseLanguage(to: Language): void {
  language = to;
  keep(KEPT.language, to);
  tellPage();
}

/** Chooses feet and inches or metric. */
export function chooseUnits(to: UnitWay): void {
  units = to;
  keep(KEPT.units, to);
}

/** Says the page's language to screen readers. */
export function tellPage(): void {
  if (typeof document !== 'undefined') document.documentElement.lang = language;
}

function spokenFirst(): Language {
  for (const one of spoken) {
    const bare = one.toLowerCase().split('-')[0];
    const found = LANGUAGES.find((known) => known === bare);
    if (found) return found;
  }
  return 'en';
}

function usualUnits(): UnitWay {
  const country = spoken[0]?.split('-').find((part) => /^[A-Z]{2}$/.test(part));
  return country === undefined || FEET.has(country) ? 'ft-in' : 'metric';
}

function kept<T extends string>(name: string, words: readonly T[]): T | null {
  try {
    const word = localStorage.getItem(name);
    return words.find((one) => one === word) ?? null;
  } catch {
    return null; // Storage is switched off.
  }
}

function keep(name: string, word: string): void {
  try {
    localStorage.setItem(name, word);
  } catch {
    // Then it lasts as long as the page.
  }
}
