// What was ticked to be put side by side. It outlives the question it was ticked under, and goes when the page does.

let names = $state.raw<readonly string[]>([]);

export const chosen = {
  get names(): readonly string[] {
    return names;
  },
  has: (name: string): boolean => names.includes(name),
  toggle(name: string): void {
    names = names.includes(name) ? names.filter((one) => one !== name) : [...names, name];
  },
  clear(): void {
    names = [];
  },
};
