import type { Grade } from '@heatround/domain';
import { THIS_DEVICE } from './device.ts';
import { GradeMark } from './marks.tsx';

/** A verdict that only this device knows yet, beside what the service says. */
export const OnlyHereMark = ({ grade }: { grade: Grade | null }) => (
  <span class="onlyhere">
    <GradeMark grade={grade} />
    <span class="soft">only on this {THIS_DEVICE}</span>
  </span>
);
