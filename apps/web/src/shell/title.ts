import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';

let isFirst = true;
/**
 * Names the document and puts the focus on the opening sentence when the screen or its subject changes, so that it is read
 * out; on the very first load the focus stays with the browser.
 */
export function useOpening(title: string, subject = title) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    document.title = `${title} · Heatround`;
  }, [title]);
  // Only a new subject takes the focus.
  useLayoutEffect(() => {
    if (!isFirst) {
      heading.current?.focus({ preventScroll: true });
      scrollTo(0, 0);
    }
    isFirst = false;
  }, [subject]);
  return heading;
}
