import { useState } from 'preact/hooks';

/** One thing to do at a time, as a form does it: its trouble is told, and a second press while it is under way does nothing. */
export function useWork(): {
  readonly isBusy: boolean;
  readonly trouble: unknown;
  readonly work: (event: Event, todo: () => Promise<void>) => Promise<void>;
} {
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  return {
    isBusy,
    trouble,
    async work(event, todo) {
      event.preventDefault();
      if (isBusy) return;
      setBusy(true);
      setTrouble(null);
      try {
        await todo();
      } catch (failed) {
        setTrouble(failed);
      }
      setBusy(false);
    },
  };
}
