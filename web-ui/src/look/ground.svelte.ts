// Whether pictures stand on a dark ground: the night light, or a system that is dark where no light was chosen.

let dark = $state(false);

/** Reactive: `ground.word` is what the notebook's drawings take, `ground.isDark` the same as yes or no. */
export const ground = {
  get isDark(): boolean {
    return dark;
  },
  get word(): 'dark' | 'light' {
    return dark ? 'dark' : 'light';
  },
};

if (typeof document !== 'undefined' && typeof matchMedia !== 'undefined') {
  const system = matchMedia('(prefers-color-scheme: dark)');
  const look = (): void => {
    const chosen = document.documentElement.dataset['light'];
    dark = chosen === 'night' || (chosen === undefined && system.matches);
  };
  system.addEventListener('change', look);
  new MutationObserver(look).observe(document.documentElement, { attributeFilter: ['data-light'] });
  look();
}
