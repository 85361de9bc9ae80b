import { mount, tick, unmount } from 'svelte';
import { type PaperStyle, pageSize } from '../../draw/paper.ts';
import ReviewPaper from './ReviewPaper.svelte';
import { type ReviewSource, reviewSvg } from './review.ts';

/** Takes the page of before away. */
let takeAway = async () => {};

/** Lays the review's page into the document, asks the browser to print it, and takes it away again. */
export async function printReview(source: ReviewSource, paper: Omit<PaperStyle, 'measure'>): Promise<void> {
  const svg = await reviewSvg(source, paper);
  await takeAway();
  const page = mount(ReviewPaper, { target: document.body, props: { svg, ...pageSize(paper) } });
  takeAway = async () => {
    takeAway = async () => {};
    await unmount(page);
  };
  window.addEventListener('afterprint', () => void takeAway(), { once: true });
  await tick();
  // Pictures are printed only where they were decoded.
  const images = [...document.querySelectorAll<SVGImageElement>('.review-paper image')];
  await Promise.all([document.fonts.ready, ...images.map((image) => decoded(image.href.baseVal))]);
  window.print();
}

async function decoded(address: string): Promise<void> {
  const image = new Image();
  image.src = address;
  await image.decode().catch(() => {});
}
