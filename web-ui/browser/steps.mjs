// What a person does on the screens, in their own words: one place to change when a screen does.

/** Where the text of a line is typed. */
export const textField = (page) => page.getByRole('textbox', { name: /What happened/ });

/** What saves a line or a reading. */
export const saveButton = (page) => page.getByRole('button', { name: 'Save', exact: true });

/** Types a line on the screen for it, and saves it. */
export async function writeLine(page, text) {
  await textField(page).fill(text);
  await saveButton(page).click();
}

/** The screen was left for the day, which says that the line is safe. */
export async function saved(page) {
  await page.getByRole('status').filter({ hasText: /Saved (on this phone|in this browser)/i }).first().waitFor();
}

/** All that was written here is in the notebook. After a long time without a link a try that fails waits for the next. */
export async function allSent(page) {
  await page.getByRole('status').filter({ hasText: 'all sent' }).first().waitFor({ timeout: 120_000 });
}

/** So many drafts wait. */
export async function notSent(page, count) {
  await page.getByRole('status').filter({ hasText: `${count} not sent` }).first().waitFor();
}

/** Types a level on the pad, key by key, and saves it. */
export async function saveReading(page, level) {
  const pad = page.getByRole('group', { name: 'Number pad' });
  for (const key of level) await pad.getByRole('button', { name: key === '.' ? 'decimal sign' : key, exact: true }).click();
  await saveButton(page).click();
}
