import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Plugin } from 'vite';

/** Name of the file in the build. */
const fileName = 'third-party-licences.md';

/** Full texts for packages that name their licence but bring no copy of it; from a package that does. */
const standInTexts: Readonly<Record<string, string>> = { 'Apache-2.0': 'typescript/LICENSE.txt' };

/**
 * Writes the licence texts of everything that ends up in the build, pages and workers alike, as they ask for. Vite's own
 * option for this passes over workers, where most of it is.
 * @param nodeModules the folder that packages are installed in
 */
export function licences(nodeModules: string): Plugin {
  const packages = new Set<string>();
  const collect = (name: string): Plugin => ({
    name,
    generateBundle(_, bundle) {
      for (const part of Object.values(bundle))
        for (const id of part.type === 'chunk' ? part.moduleIds : []) {
          const found = packageOf(id);
          if (found) packages.add(found);
        }
    },
  });
  const pages = collect('licences');
  return {
    ...pages,
    apply: 'build',
    // Workers are bundled on their own, while the pages are: all of them are done when the pages' bundle is.
    config: () => ({ worker: { plugins: () => [collect('licences-of-workers')] } }),
    generateBundle(options, bundle, isWrite) {
      (pages.generateBundle as (...all: unknown[]) => void).call(this, options, bundle, isWrite);
      const texts = [...packages].sort().map((name) => licenceOf(nodeModules, name));
      this.emitFile({
        type: 'asset',
        fileName,
        source: `# Licences of the parts in this build\n\n${texts.join('\n')}`,
      });
    },
  };
}

/** The innermost package that a module's path lies in; null for our own modules. */
function packageOf(moduleId: string): string | null {
  const path = moduleId.slice(moduleId.lastIndexOf('node_modules/') + 'node_modules/'.length);
  if (!moduleId.includes('node_modules/')) return null;
  return /^(?:@[^/]+\/)?[^/]+/.exec(path)?.[0] ?? null;
}

function licenceOf(nodeModules: string, name: string): string {
  const folder = join(nodeModules, name);
  const about = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')) as { version: string; license?: string };
  const text = ownText(folder) ?? standInText(nodeModules, about.license ?? '');
  if (!text) throw new Error(`${name} brings no licence text, and none is known for ${about.license}`);
  return `## ${name} ${about.version} (${about.license})\n\n${text.trim()}\n`;
}

/** The text in the package's licence file, else in the chapter on it that ends its readme. */
function ownText(folder: string): string | null {
  const named = (pattern: RegExp) => readdirSync(folder).find((entry) => pattern.test(entry));
  const file = named(/^(licen[cs]e|copying)(\.\w+)?$/i);
  if (file) return readFileSync(join(folder, file), 'utf8');
  const readme = named(/^readme\.md$/i);
  const chapter =
    readme && /^.*licen[cs]e.*\n[-=]{3,}\n[\s\S]*copyright[\s\S]*$/im.exec(readFileSync(join(folder, readme), 'utf8'));
  return chapter ? chapter[0] : null;
}

function standInText(nodeModules: string, licence: string): string | null {
  const file = standInTexts[licence];
  return file ? readFileSync(join(nodeModules, file), 'utf8') : null;
}
