import type { Plan } from '../plan/plan.ts';
import { listPopThrough, type PopThroughPose } from '../plan/popThrough.ts';
import { writeSheet } from '../plan/sheet.ts';
import { supportPhrase } from '../plan/support.ts';
import { standingHeightMm } from '../puppet/profile.ts';
import { clipText, wrapText } from './fitText.ts';
import { type DraftPage, type PageRoom, type PaperStyle, pageFoot, pageHead, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { layOutFigure } from './puppetFigure.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';

/** A pose gets at least this height, so that its picture is large enough to pose a puppet by: nine to an upright page. */
const leastRow = 26;
/** A row with few poses on the page is not stretched beyond this, millimetres. */
const tallestRow = 38;
/** Between what stands side by side, millimetres. */
const gap = 3.5;

const faces = {
  number: { size: 6.2, font: 'mono', weight: 700 },
  frames: { size: 6.6, font: 'mono', weight: 700 },
  unit: { size: 3.1, font: 'text', weight: 400 },
  name: { size: 4.2, font: 'text', weight: 700 },
  words: { size: 3.2, font: 'text', weight: 400 },
} as const satisfies Record<string, TextStyle>;

/**
 * The list for the rough pose pass on paper, not yet numbered: per pose its number, its picture, from which frame to
 * which, how long, why it is a pose, a small figure of it, and lines to write on. Up to nine to an upright page,
 * six to a lying one, spread evenly over the pages.
 */
export function draftPopThroughPages(plan: Plan, style: PaperStyle): DraftPage[] {
  const poses = listPopThrough(plan);
  const { header } = writeSheet(plan);
  const room = pageRoom(style);
  const pageCount = Math.ceil(poses.length / Math.floor((room.bottom - room.top) / leastRow));
  const posesPerPage = Math.ceil(poses.length / pageCount);
  const rowHeight = Math.min(tallestRow, (room.bottom - room.top) / posesPerPage);
  const pages: DraftPage[] = [];
  for (let first = 0; first < poses.length; first += posesPerPage) {
    const shown = poses.slice(first, first + posesPerPage);
    pages.push({
      title: `Pop-through, ${header.shot}`,
      summary: `Poses ${first + 1} to ${first + shown.length} of ${poses.length}, each with its picture and its frames.`,
      marks: [
        ...pageHead(header, 'Pop-through', style),
        ...shown.flatMap((pose, i) =>
          drawPose(pose, first + i, room.top + i * rowHeight, rowHeight, room, style, plan),
        ),
        pageFoot(
          'Each pose is held for its frames; together they are the whole shot. Ringed: the number of the pose on the exposure sheet.',
          style,
        ),
      ],
    });
  }
  return pages;
}

function drawPose(
  pose: PopThroughPose,
  place: number,
  top: number,
  height: number,
  room: PageRoom,
  style: PaperStyle,
  plan: Plan,
): Mark[] {
  const id = `pose-${place}`;
  const bottom = top + height - 1.8;
  const inner = bottom - top - 1.8;
  const { widthPx, heightPx } = plan.footage;
  // A wide take fills the slot's width, an upright one its height.
  const slotWidth = Math.min(62, (inner * widthPx) / heightPx);
  const numberX = room.left + 8;
  const pictureLeft = room.left + 17;
  const textLeft = pictureLeft + 62 + gap;
  const textWidth = 52;
  const writeLeft = textLeft + textWidth + gap;
  // The sheet's own number, so that a pose has one name on all paper.
  const number = String(pose.poseNumber);
  const name = pose.name || pose.why || 'first pose';
  const marks: Mark[] = [
    pathMark(`${id}-rule`, new PathPen().line(room.left, top + height, room.right, top + height).toString(), {
      stroke: 'faint',
      strokeWidth: 0.2,
    }),
    pathMark(
      `${id}-ring`,
      new PathPen().pill(numberX, top + 9, Math.max(0, style.measure(number, faces.number) - 7.2), 5).toString(),
      {
        stroke: 'ink',
        strokeWidth: 0.5,
      },
    ),
    textMark(`${id}-number`, numberX, top + 11.1, number, { ...faces.number, anchor: 'middle', role: 'pose' }),
    pathMark(
      `${id}-slot`,
      new PathPen().rect(pictureLeft + (62 - slotWidth) / 2, top + 1.8, slotWidth, inner).toString(),
      {
        stroke: 'line',
        strokeWidth: 0.2,
      },
    ),
    {
      kind: 'picture',
      id: `${id}-picture`,
      role: 'picture',
      label: `pose ${number}: ${name}`,
      x: pictureLeft + (62 - slotWidth) / 2,
      y: top + 1.8,
      width: slotWidth,
      height: inner,
      takeSec: pose.takeSec,
    },
  ];
  marks.push(
    ...drawFigure(
      plan,
      pose.poseFrame,
      { left: room.left + 0.5, right: pictureLeft - 1, top: top + 15.5, bottom },
      `${id}-figure`,
    ),
  );
  const span = `${pose.firstFrame + 1}–${pose.lastFrame + 1}`;
  const spanWidth = style.measure(span, faces.frames);
  marks.push(
    textMark(`${id}-span`, textLeft, top + 8.2, span, { ...faces.frames, role: 'frames' }),
    textMark(`${id}-length`, textLeft + Math.max(26, spanWidth + 3), top + 8.2, `${pose.frames} fr`, {
      ...faces.name,
      role: 'length',
    }),
  );
  let y = top + 13.8;
  const line = (text: string, face: TextStyle, part: string) => {
    if (text === '' || y > bottom) return;
    marks.push(
      textMark(`${id}-${part}`, textLeft, y, clipText(text, textWidth, face, style.measure), { ...face, role: part }),
    );
    y += face.size * 1.3;
  };
  for (const [i, text] of wrapText(name, textWidth, 2, faces.name, style.measure).entries())
    line(text, faces.name, `name-${i}`);
  const rest = [supportPhrase(pose.support), pose.name ? pose.why : '', pose.note].filter(Boolean).join(' · ');
  const roomLeft = Math.max(0, Math.floor((bottom - y) / (faces.words.size * 1.3)) + 1);
  for (const [i, text] of wrapText(rest, textWidth, roomLeft, faces.words, style.measure).entries())
    line(text, faces.words, `why-${i}`);
  // Lines to write on by hand.
  const ruled = new PathPen();
  for (let ruleY = top + 9.5; ruleY <= bottom; ruleY += 7.2) ruled.line(writeLeft, ruleY, room.right, ruleY);
  marks.push(pathMark(`${id}-lines`, ruled.toString(), { stroke: 'line', strokeWidth: 0.18 }));
  return marks;
}

/** Smallest height at which a figure still shows a pose, millimetres. */
const smallestFigure = 9;

/**
 * The puppet at a frame, upright in a box, for posing it by; one scale for all frames, so that a crouch stays smaller than a
 * stretch. None where the box is too low or the body is not known.
 */
function drawFigure({ puppet }: Plan, frame: number, box: PageRoom, id: string): Mark[] {
  const height = box.bottom - box.top;
  const at = [...puppet.paths].flatMap(([joint, path]) => {
    const [x, y] = [path.xMm[frame] ?? Number.NaN, path.yMm[frame] ?? Number.NaN];
    return Number.isNaN(x + y) ? [] : [{ joint, x, y }];
  });
  if (height < smallestFigure || at.length === 0) return [];
  // Arms above the head and a wide step still fit: a body is seldom more than 1.2 of its height high.
  const upright = height / (1.2 * standingHeightMm(puppet.profile));
  const lowest = Math.min(...at.map((p) => p.y));
  const [least, most] = [Math.min(...at.map((p) => p.x)), Math.max(...at.map((p) => p.x))];
  const thick = Math.max(puppet.profile.sizes.armThickMm, puppet.profile.sizes.headWidthMm);
  const tall = Math.max(...at.map((p) => p.y)) - lowest + puppet.profile.sizes.headMm;
  const perMm = Math.min(
    upright,
    (box.right - box.left) / Math.max(1, most - least + thick),
    height / Math.max(1, tall),
  );
  const places = new Map(
    at.map(({ joint, x, y }) => [
      joint,
      [(box.left + box.right) / 2 + (x - (least + most) / 2) * perMm, box.bottom - 0.6 - (y - lowest) * perMm] as const,
    ]),
  );
  return layOutFigure(puppet.profile, places, { perMm, id, fill: 'sheet', stroke: 'ink', strokeWidth: 0.25 });
}
