import { useRef, useState } from 'preact/hooks';

/** One thing to do at a time, as a form does it: its trouble is told, and a second press while it is under way does nothing. */
export function useWork(): {
  readonly isBusy: boolean;
  readonly trouble: unknown;
  readonly work: (event: Event, todo: () => Promise<void>) => Promise<void>;
} {
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  // A second press may come before the screen shows the first one.
  const underWay = useRef(false);
  return {
    isBusy,
    trouble,
    async work(event, todo) {
      event.preventDefault();
      if (underWay.current) return;
      underWay.current = true;
      setBusy(true);
      setTrouble(null);
      try {
        await todo();
      } catch (failed) {
        setTrouble(failed);
      }
      underWay.current = false;
      setBusy(false);
    },
  };
}
