import { readFileSync } from 'node:fs';
import AxeBuilder from '@axe-core/playwright';
import { expect, type Page, test } from '@playwright/test';
import { readPuppet } from '../../src/project/puppetSchema.ts';
import { evenTimes, hold, type MadeMovement, makeSightings, minimumJerk, standing } from '../make.ts';
import { goTo, openApp, openReading } from './open.ts';

/** A joint of the right arm while the whole arm is raised sideways by 80 degrees. */
function raised(joint: 'rightElbow' | 'rightWrist'): MadeMovement {
  const [sx, sy] = standing.rightShoulder;
  const [dx, dy] = [standing[joint][0] - sx, standing[joint][1] - sy];
  const share = minimumJerk([0, 0], [1, 0], 0.4, 0.8);
  return (sec) => {
    const { x: u, vx: perSec } = share(sec);
    const [a, w] = [(u * 80 * Math.PI) / 180, (perSec * 80 * Math.PI) / 180];
    const [x, y] = [dx * Math.cos(a) - dy * Math.sin(a), dx * Math.sin(a) + dy * Math.cos(a)];
    return { x: 400 + sx + x, y: 280 + sy + y, vx: -w * y, vy: w * x };
  };
}

/** Somebody who stands and raises an arm, without pictures. */
async function openMade(page: Page) {
  const timesSec = evenTimes(60, 30);
  const joints = { rightElbow: raised('rightElbow'), rightWrist: raised('rightWrist') };
  const sightings = makeSightings({ timesSec, body: hold(400, 280), joints, noisePx: 0.5 });
  await openReading(page, 'arm', sightings);
}

const height = (page: Page) => page.getByLabel('Height, sole to top of the head');

test('a puppet is entered, in millimetres or inches, drawn as it is measured, kept as a file and taken from one', async ({
  page,
}) => {
  await openApp(page);
  await openMade(page);
  await goTo(page, 'Puppet');
  await expect(height(page)).toHaveValue('250');
  const forearm = page.getByLabel('forearm', { exact: true });
  await forearm.fill('60');
  // The length that is being entered is pointed out in the drawing.
  await expect(page.locator('[data-id="size-forearmMm"]')).toHaveAttribute('stroke-width', '3');
  await expect(page.locator('[data-id="size-thighMm"]')).toHaveAttribute('stroke-width', '1');
  await page.getByLabel('thigh', { exact: true }).fill('80');
  await page.getByLabel('thigh', { exact: true }).press('Tab');
  await expect(height(page)).not.toHaveValue('250');
  await page.locator('body').press('Control+z');
  await expect(height(page)).toHaveValue('250');
  await page.getByLabel('Lengths in').selectOption('in');
  await expect(height(page)).toHaveValue('9.843');
  await expect(forearm).toHaveValue('2.362');
  await page.getByLabel('Lengths in').selectOption('mm');

  // A file of its own brings it into another shot.
  await page.getByRole('textbox', { name: 'Puppet', exact: true }).fill('Old keeper');
  const saved = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Save', exact: true }).click();
  const text = readFileSync(await (await saved).path(), 'utf8');
  const read = readPuppet(text);
  expect(read).toMatchObject({ ok: true, value: { name: 'Old keeper', sizes: { forearmMm: 60 } } });
  await page.getByLabel('Begin with proportions').selectOption({ label: 'Big head, short legs' });
  await expect(height(page)).toHaveValue('212');
  const choose = page.waitForEvent('filechooser');
  await page.getByRole('button', { name: 'From a file…' }).click();
  const file = { name: 'keeper.puppet.json', mimeType: 'application/json', buffer: Buffer.from(text) };
  await (await choose).setFiles(file);
  await expect(page.getByRole('textbox', { name: 'Puppet', exact: true })).toHaveValue('Old keeper');
  await expect(forearm).toHaveValue('60');
  // What is no puppet changes nothing and says what to do.
  const again = page.waitForEvent('filechooser');
  await page.getByRole('button', { name: 'From a file…' }).click();
  const broken = Buffer.from(text.replace(/"thighMm": [\d.]+/, '"thighMm": -1'));
  await (await again).setFiles({ ...file, buffer: broken });
  await expect(page.getByText(/thighMm.*Correct that value/)).toBeVisible();
  await expect(page.getByRole('textbox', { name: 'Puppet', exact: true })).toHaveValue('Old keeper');
});

test('limits are a person’s until the puppet’s own are entered; the puppet stands beside the performer, frame by frame', async ({
  page,
}) => {
  await openApp(page);
  await openMade(page);
  await goTo(page, 'Puppet');
  await page.getByRole('tab', { name: 'Joints and weight' }).click();
  const elbow = page.getByLabel(/^elbow bends/);
  await expect(elbow).toHaveAttribute('placeholder', '150');
  await expect(page.locator('label[for=elbowBend]')).toContainText('a person’s');
  await elbow.fill('110');
  await expect(page.locator('label[for=elbowBend]')).not.toContainText('a person’s');
  await elbow.fill('');
  await expect(page.locator('label[for=elbowBend]')).toContainText('a person’s');

  await elbow.blur();
  const stage = page.getByRole('region', { name: 'The puppet' });
  const limb = (name: string) => stage.locator(`[data-id="puppet-${name}"]`).getAttribute('d');
  await page.locator('body').press('Home');
  const hanging = await limb('rightWrist');
  const foot = () => stage.locator('[data-id="stands-right"]').getAttribute('d');
  const standing = await foot();
  await page.locator('body').press('End');
  expect(await limb('rightWrist')).not.toBe(hanging);
  // The foot that stands does not move by a hair.
  expect(standing).not.toBeNull();
  expect(await foot()).toBe(standing);
  const { violations } = await new AxeBuilder({ page }).analyze();
  expect(violations.filter((v) => v.impact === 'serious' || v.impact === 'critical').map((v) => v.id)).toEqual([]);
});

test('what the puppet cannot do is told with its frames; the nearest pose it can do is one press away, and taken back by undo', async ({
  page,
}) => {
  await openApp(page);
  await openMade(page);
  await goTo(page, 'Puppet');
  await page.getByRole('tab', { name: 'Can it?' }).click();
  const told = page.getByText(/frames? \d+( to \d+)?; worst at \d+/);
  const before = await told.count();
  // This puppet's shoulders go out by 30 degrees only.
  await page.getByRole('tab', { name: 'Joints and weight' }).click();
  await page.getByLabel(/^arm out and up/).fill('30');
  await page.getByLabel(/^arm out and up/).blur();
  await page.getByRole('tab', { name: 'Can it?' }).click();
  const arm = page.getByRole('listitem').filter({ hasText: /right (shoulder|upper arm|arm).*beyond/ });
  await expect(arm.first()).toBeVisible();
  await arm
    .first()
    .getByRole('button', { name: /^Go to frame/ })
    .click();
  const limb = () =>
    page.getByRole('region', { name: 'The puppet' }).locator('[data-id="puppet-rightElbow"]').getAttribute('d');
  const acted = await limb();
  await arm.first().getByRole('button', { name: 'Use the nearest pose it can do' }).click();
  await expect(arm).toHaveCount(0);
  expect(await limb()).not.toBe(acted);
  await expect(page.getByText('right shoulder within its limit')).toBeVisible();
  await page.locator('body').press('Control+z');
  await expect(arm.first()).toBeVisible();
  expect(await limb()).toBe(acted);
  expect(await told.count()).toBeGreaterThan(before);

  // A hand that touches something keeps its place.
  await page.locator('body').press('Home');
  await page.getByRole('button', { name: 'Right hand from here' }).click();
  /** Where the forearm ends: the middle of its round end. */
  const wrist = async (): Promise<string> => {
    const d = (await page
      .getByRole('region', { name: 'The puppet' })
      .locator('[data-id="puppet-rightWrist"]')
      .getAttribute('d'))!;
    const [x1, y1, x2, y2] = d
      .match(/L([\d.-]+) ([\d.-]+)A[\d.]+ [\d.]+ 0 0 1 ([\d.-]+) ([\d.-]+)Z/)!
      .slice(1)
      .map(Number);
    return `${((x1! + x2!) / 2).toFixed(1)} ${((y1! + y2!) / 2).toFixed(1)}`;
  };
  await page.getByLabel('… to frame').fill('40');
  await page.getByLabel('… to frame').press('Tab');
  const start = await wrist();
  for (let i = 0; i < 20; i++) await page.locator('body').press('ArrowRight');
  expect(await wrist()).toBe(start);
});
