/** A page and an act, as they are declared; the controller finds them by their addresses. */
import { at } from '../../engine/look-up.js';
import type { Role } from '../../platform/operation/operation.js';
import type { Shown } from './document.js';
import type { Form } from './form.js';
import type { Undo, View } from './view.js';

export interface Page {
  /** Below the shop's base, with `:name` for what stands in it. */
  path: string;
  /** Everyone who is signed in, unless said. */
  roles?: readonly Role[];
  show(view: View): Promise<Shown>;
}

export interface ActResult {
  /** What was done, in words. */
  said: string;
  undo?: Undo | null | undefined;
  /** A page shown in its place this once, because it holds a secret that is kept nowhere. */
  shownOnce?: Shown | undefined;
  /** The page to go to, below the base; the one it was done on unless said. */
  to?: string | undefined;
}

export interface ActDeclared {
  name: string;
  roles?: readonly Role[];
  /** Reads the form, does it, and says what was done. */
  take(view: View, form: Form): Promise<ActResult>;
}

/** Something that is not a page: a sheet to print, a picture. */
export interface FileDeclared {
  path: string;
  roles?: readonly Role[];
  make(view: View): Promise<{ type: string; content: Buffer | string; name?: string; keptSeconds?: number }>;
}

export interface Chapter {
  pages: readonly Page[];
  files?: readonly FileDeclared[];
  acts: readonly ActDeclared[];
}

/** @returns what stood in the path's places, or undefined when it is another path */
export function matchPath(pattern: string, path: string): Record<string, string> | undefined {
  const wanted = pattern.split('/');
  const given = path.split('/');
  if (wanted.length !== given.length) return undefined;
  const params: Record<string, string> = {};
  for (const [index, part] of wanted.entries()) {
    const value = at(given, index);
    if (!part.startsWith(':')) {
      if (part !== value) return undefined;
    } else {
      if (value === '') return undefined;
      try {
        params[part.slice(1)] = decodeURIComponent(value);
      } catch {
        return undefined;
      }
    }
  }
  return params;
}
