import AxeBuilder from '@axe-core/playwright';
import { expect, type Page, test } from '@playwright/test';
import { goTo, openApp, openTake, readTake, settled } from './open.ts';
import {
  layBeside,
  lookForPuppet,
  photograph,
  planShort,
  planShortBesideItself,
  shortTakePath,
  stillsOnTwos,
  watchesLampShot,
} from './stills.ts';

test('a shot is laid beside its plan, the puppet is found in it, and what differs is told with its frames; a reload keeps it', async ({
  page,
}) => {
  test.slow();
  // From the take to what differs, with nothing that was read before.
  await openApp(page);
  await openTake(page, shortTakePath);
  await readTake(page, 'quick');
  await goTo(page, 'Check');
  // The same movement, but at the take's own 30 pictures a second shown at the plan's 24 frames: all comes late.
  await page.getByTestId('shot-pictures').setInputFiles(shortTakePath);
  await expect(page.getByText('“short, animated”, 36 pictures')).toBeVisible();
  await settled(page);
  await expect(page.getByLabel('Its pictures are')).toHaveValue('');
  await expect(page.getByLabel('Picture 1 of short, animated')).toBeVisible();
  await lookForPuppet(page);
  const late = page.getByText(/^Key \d+, planned for frame 21, is met \d(\.5)? frames late\.$/);
  await expect(late).toBeVisible();
  await page.getByRole('button', { name: 'Go to frame 21' }).click();
  await settled(page);
  await expect(page.getByLabel('Picture 21 of short, animated')).toBeVisible();

  await page.reload();
  await settled(page);
  await goTo(page, 'Check');
  await settled(page);
  await expect(late).toBeVisible();
  await page.locator('body').press('Control+z');
  await page.getByRole('button', { name: 'Another…' }).click();
  await expect(page.getByRole('button', { name: 'Stills or a video…' })).toBeVisible();
});

test('a folder is watched while shooting: new stills are taken up and looked at; a reload goes on; stills can be added by hand', async ({
  page,
}) => {
  test.slow();
  await watchesLampShot(page);
  await planShort(page);
  const stills = await stillsOnTwos(page, 9);
  await goTo(page, 'Check');
  await page.getByRole('button', { name: 'A folder, watched while you shoot…' }).click();
  await expect(page.getByText(/held against the plan from the second one on/)).toBeVisible();
  for (const still of stills.slice(0, 5)) await photograph(page, still);
  // What was looked for is folded away as soon as it is found.
  const found = page.locator('summary', { hasText: 'where the puppet is' }).locator('span');
  const pictures = (count: number) => expect(page.getByText(`“short, animated”, ${count} pictures`)).toBeVisible();
  await pictures(5);
  await settled(page);
  await lookForPuppet(page);
  await expect(found).toHaveText('one for each exposure, from frame 1 on');

  await photograph(page, stills[5]!);
  await photograph(page, stills[6]!);
  await pictures(7);
  await settled(page);
  await expect(found).toHaveText('one for each exposure, from frame 1 on');
  const told = (await page.getByRole('listitem').allTextContents()).join('|');

  await page.reload();
  await settled(page);
  await goTo(page, 'Check');
  await pictures(7);
  await expect(page.getByText(/The folder “lamp shot” is watched/)).toBeVisible();
  await settled(page);
  expect((await page.getByRole('listitem').allTextContents()).join('|')).toBe(told);
  await photograph(page, stills[7]!);
  await pictures(8);
  await settled(page);
  // Eight and nine, too: as many as key poses they may be, but they have been fewer.
  await expect(found).toHaveText('one for each exposure, from frame 1 on');

  await page.getByRole('button', { name: 'Watch no more' }).click();
  await page.getByTestId('more-pictures').setInputFiles(stills[8]!);
  await pictures(9);
  await settled(page);
  await expect(found).toHaveText('one for each exposure, from frame 1 on');
  await page.getByTestId('more-pictures').setInputFiles({ ...stills[8]!, name: 'lamp_112.jpg' });
  await expect(page.getByText(/^No stills have the numbers 109 to 111: pictures are missing there/)).toBeVisible();
});

test('a still that is missing and one that is damaged leave their exposures empty; that the numbering jumps may be said instead', async ({
  page,
}) => {
  test.slow();
  const problems: string[] = [];
  page.on('pageerror', (error) => problems.push(error.message));
  await planShort(page);
  const stills = await stillsOnTwos(page, 9);
  const damaged = { ...stills[6]!, buffer: Buffer.from('The card was full.') };
  await layBeside(page, [...stills.slice(0, 3), ...stills.slice(4, 6), damaged, ...stills.slice(7)]);
  await expect(page.getByText(/^No still has the number 103: a picture is missing there/)).toBeVisible();
  // There are as many pictures as key poses.
  await page.getByLabel('Its pictures are').selectOption('exposures');
  await lookForPuppet(page);
  await expect(page.getByText(/^Pictures 6–6 .* are damaged and were left empty/)).toBeVisible();

  const shown = page.getByRole('region', { name: 'The shot as animated' }).locator('.bar');
  const at = async (frame: number, words: string) => {
    // In a list of choices, arrow keys would choose.
    await page.evaluate(() => (document.activeElement as HTMLElement | null)?.blur());
    await page.locator('body').press('Home');
    for (let k = 1; k < frame; k++) await page.keyboard.press('ArrowRight');
    await expect(page.locator('.where .frame')).toHaveText(`${frame}`);
    await expect(shown).toHaveText(words);
  };
  await at(5, 'picture 3 of 8');
  await at(7, 'no picture stands here');
  await at(9, 'picture 4 of 8');
  await at(17, 'picture 8 of 8');
  // The shot is what was planned: no picture came late.
  await expect(page.getByText(/frames? (late|early)\.$/)).toHaveCount(0);

  const meaning = page.getByLabel('Numbers that no still has');
  await expect(meaning).toHaveValue('');
  await meaning.selectOption('jumps');
  await expect(page.getByText(/^No still has the number 103: the numbering jumps there/)).toBeVisible();
  await at(7, 'picture 4 of 8');
  await settled(page);
  await page.reload();
  await settled(page);
  await goTo(page, 'Check');
  await expect(meaning).toHaveValue('jumps');
  await at(7, 'picture 4 of 8');
  await meaning.selectOption('');
  await at(7, 'no picture stands here');
  expect(problems).toEqual([]);
});

/** The handles at both ends of the ruler in the shot's picture. */
const ends = (page: Page) => page.getByRole('button', { name: /end of the ruler/ });

test('a wrist that is off is shown with both arcs; a ruler gives the size; how it is laid is undone, and kept over a reload', async ({
  page,
}) => {
  test.slow();
  await planShortBesideItself(page);
  // As many frames as the shot has pictures: it differs from its plan in nothing but what is done to it below.
  await goTo(page, 'Take');
  await page.getByLabel('Frames a second').selectOption('30');
  await goTo(page, 'Check');
  await settled(page);
  await page.getByText('Its pictures, and where the puppet is').click();
  await page.getByRole('button', { name: 'Correct joints in its own book…' }).click();
  await settled(page);
  await page.getByLabel('Joint', { exact: true }).selectOption('rightWrist');
  await page.locator('body').press('Home');
  for (let i = 0; i < 16; i++) await page.keyboard.press('ArrowRight');
  await page.keyboard.press('m');
  for (let i = 0; i < 7; i++) await page.keyboard.press('Shift+ArrowDown');
  await page.keyboard.press('Escape');
  await settled(page);
  await page.getByTitle('Open, save, other shots').click();
  await page
    .locator('.shelved button')
    .filter({ hasText: /^short(?!, animated)/ })
    .first()
    .click();
  await settled(page);
  await goTo(page, 'Check');
  await settled(page);

  // The keyboard alone: the worst first.
  await page.locator('body').press('ArrowDown');
  const wrist = page.getByRole('listitem').getByText(/^The right wrist .+ \d+ mm .*\(elbow \d+° too far closed\)\.$/);
  await expect(wrist).toBeVisible();
  const chosen = page.locator('.told [aria-current=true]');
  await expect(chosen).toHaveCount(1);
  await expect(
    page.getByText(/^The right wrist as planned \(broken\) and as shot \(unbroken\), \d.* mm apart/),
  ).toHaveCount(1);
  await expect(page.getByRole('img', { name: 'Spacing, planned and shot' })).toBeVisible();
  const seriousFaults = (await new AxeBuilder({ page }).analyze()).violations.filter(
    (v) => v.impact === 'serious' || v.impact === 'critical',
  );
  expect(seriousFaults.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(', ')}`)).toEqual([]);
  await page.keyboard.press('Escape');
  await expect(chosen).toHaveCount(0);

  await page.getByText('How it is laid over the plan').click();
  const laid = page.getByLabel('Laid over the plan');
  await laid.selectOption('ruler');
  await expect(page.getByText('No ruler lies in the picture yet')).toBeVisible();
  await page.getByRole('button', { name: 'Press its two ends…' }).click();
  const pointer = page.getByRole('button', { name: /^An end of the ruler/ });
  const box = (await pointer.boundingBox())!;
  const [left, right, y] = [box.x + 0.25 * box.width, box.x + 0.75 * box.width, box.y + box.height / 2];
  await page.mouse.click(left, y);
  await page.mouse.click(left + 4, y);
  await expect(page.getByText('Its ends lie too near to each other')).toBeVisible();
  // The second end is dragged to where it belongs.
  await page.mouse.move(left + 4, y);
  await page.mouse.down();
  await page.mouse.move(right, y, { steps: 4 });
  await page.mouse.up();
  const length = page.getByLabel('The ruler’s length, mm');
  await length.fill('0');
  await length.press('Enter');
  await expect(page.getByText('A length above 0 is needed.')).toBeVisible();
  await length.fill('290');
  await length.press('Enter');
  await settled(page);
  const gives = page.getByText(/^It gives \d\.\d{3} mm to a pixel, ± \d\.\d %\./);
  await expect(gives).toBeVisible();
  const before = (await gives.textContent())!;
  await ends(page).last().focus();
  for (let i = 0; i < 3; i++) await page.keyboard.press('Shift+ArrowRight');
  await settled(page);
  await expect(gives).not.toHaveText(before);
  await page.locator('body').press('Control+z');
  await settled(page);
  await expect(gives).toHaveText(before);

  await page.getByText('All joints and frames count').click();
  await page.getByRole('checkbox', { name: 'nose' }).uncheck();
  await page.getByLabel('to', { exact: true }).fill('30');
  await page.getByLabel('to', { exact: true }).press('Enter');
  await settled(page);
  await page.reload();
  await settled(page);
  await goTo(page, 'Check');
  await settled(page);
  await page.getByText('How it is laid over the plan').click();
  await expect(laid).toHaveValue('ruler');
  await expect(length).toHaveValue('290');
  await expect(ends(page)).toHaveCount(2);
  await page.getByText('Some joints and frames count').click();
  await expect(page.getByRole('checkbox', { name: 'nose' })).not.toBeChecked();
  await expect(page.getByLabel('to', { exact: true })).toHaveValue('30');

  await page.getByRole('button', { name: 'Take the ruler away' }).click();
  await expect(laid).toHaveValue('joints');
  await expect(ends(page)).toHaveCount(0);
  await laid.selectOption('angles');
  await settled(page);
  await expect(page.getByText('angles only', { exact: true })).toBeVisible();
  await expect(
    page
      .getByRole('listitem')
      .getByText(/right wrist .* \d+ mm/)
      .first(),
  ).toBeVisible();
});

test('the next moves are laid anew from the shot pose, accepted, told at the set, kept over a reload, and undone', async ({
  page,
}) => {
  test.slow();
  await planShortBesideItself(page);

  const movesAtSet = async (exposure: number) => {
    await page.locator('main').press('j');
    await page.keyboard.type(`${exposure}`);
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('exposure')).toHaveText(`${exposure}`);
    return page.getByTestId('mm').allTextContents();
  };
  await goTo(page, 'On set');
  const planned = await movesAtSet(7);
  await page.locator('main').press('Escape');
  await goTo(page, 'Check');

  await page.getByRole('button', { name: 'Lay the next moves anew…' }).click();
  await page.getByLabel('After exposure').fill('6');
  await page.getByLabel('After exposure').blur();
  await expect(page.getByText(/^It is [\d.]+ frames? (late|early),/)).toBeVisible();
  const table = page.getByRole('table', { name: 'Moves laid anew' });
  await expect(table.getByRole('row').nth(1)).toBeVisible();
  await page.getByRole('button', { name: 'Accept', exact: true }).click();
  await expect(page.getByText('It is in the plan.')).toBeVisible();
  await expect(page.getByText(/^After exposure 6\s+the moves go on/)).toBeVisible();

  // One press further, the set shows the move that leads on from there.
  const anew = page.getByText('from where it stands, after exposure 6');
  await page.getByRole('list', { name: 'Moves laid anew' }).getByRole('button', { name: 'On set' }).click();
  await expect(page.getByTestId('exposure')).toHaveText('7');
  await expect(anew).toBeVisible();
  const told = await page.getByTestId('mm').allTextContents();
  expect(told).not.toEqual(planned);
  await settled(page);
  await page.reload();
  await settled(page);
  await expect(page.getByTestId('exposure')).toHaveText('7');
  await expect(anew).toBeVisible();
  expect(await page.getByTestId('mm').allTextContents()).toEqual(told);

  // Taken away, the moves are the plan's own; undone, they are laid anew again.
  await page.locator('main').press('Escape');
  await goTo(page, 'Check');
  await settled(page);
  await page.getByRole('button', { name: 'Take it away' }).click();
  await goTo(page, 'On set');
  await expect(page.getByTestId('exposure')).toHaveText('7');
  expect(await page.getByTestId('mm').allTextContents()).toEqual(planned);
  await page.locator('main').press('Escape');
  await page.locator('body').press('Control+z');
  await goTo(page, 'On set');
  await expect(anew).toBeVisible();
  expect(await page.getByTestId('mm').allTextContents()).toEqual(told);
});
