import { type ComponentChildren, createContext } from 'preact';
import { useContext, useEffect, useState } from 'preact/hooks';

/** Where we are: path and search. Links are plain links; a click on one of ours changes the screen without loading the page. */
export interface Where {
  readonly path: string;
  readonly search: URLSearchParams;
}

const here = (): Where => ({ path: location.pathname, search: new URLSearchParams(location.search) });
const Context = createContext<Where>({ path: '/', search: new URLSearchParams() });
const listeners = new Set<() => void>();

export function go(to: string, how: 'push' | 'replace' = 'push'): void {
  if (how === 'push') history.pushState(null, '', to);
  else history.replaceState(null, '', to);
  for (const listener of listeners) listener();
}

function takeClick(event: MouseEvent): void {
  if (event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  const link = (event.target as Element | null)?.closest?.('a');
  if (!link || link.target || link.hasAttribute('download') || link.origin !== location.origin) return;
  if (link.pathname === location.pathname && link.search === location.search && link.hash) return;
  event.preventDefault();
  if (link.href !== location.href) go(link.pathname + link.search);
}

export function Router({ children }: { children: ComponentChildren }) {
  const [where, setWhere] = useState(here);
  useEffect(() => {
    const follow = (): void => setWhere(here());
    listeners.add(follow);
    addEventListener('popstate', follow);
    document.addEventListener('click', takeClick);
    return () => {
      listeners.delete(follow);
      removeEventListener('popstate', follow);
      document.removeEventListener('click', takeClick);
    };
  }, []);
  return <Context.Provider value={where}>{children}</Context.Provider>;
}

export const useWhere = (): Where => useContext(Context);

/** Parameters of a path that fits a pattern, else null. @example match('/assets/:assetId', '/assets/x') // { assetId: 'x' } */
export function match(pattern: string, path: string): Record<string, string> | null {
  const wanted = pattern.split('/').filter(Boolean);
  const found = path.split('/').filter(Boolean);
  if (wanted.length !== found.length) return null;
  const parameters: Record<string, string> = {};
  for (const [index, word] of wanted.entries()) {
    const piece = found[index]!;
    if (word.startsWith(':')) parameters[word.slice(1)] = decodeURIComponent(piece);
    else if (word !== piece) return null;
  }
  return parameters;
}
