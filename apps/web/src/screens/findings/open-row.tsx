import type { FindingLine, OrderLine } from '@heatround/contract';
import { useWidth } from '../../ui/chart/parts.tsx';
import { plainDate } from '../../ui/format.ts';
import { Tag } from '../../ui/marks.tsx';
import { orderContent, saySituation } from '../../ui/planning/situation.ts';
import { type Frame, Strip } from '../../ui/planning/strip.tsx';
import { FINDING_STATE_WORDS, ORDER_STATE_WORDS, sayBall } from '../../ui/planning/words.ts';

const isOrder = (line: OrderLine | FindingLine): line is OrderLine => 'order' in line;

/** Something that somebody has in hand: state, name, one line of words, its place in the coming weeks, who has the ball. */
export function OpenRow({ line, frame, now }: { line: OrderLine | FindingLine; frame: Frame; now: number }) {
  const { box, width } = useWidth<HTMLDivElement>(436);
  const zone = line.place.zone;
  const living = isOrder(line) ? line.order.livingWith : line.finding.livingWith;
  const content = isOrder(line)
    ? orderContent(line, now)
    : living === null
      ? {}
      : { living: { until: living.until, words: `until ${plainDate(living.until, zone, now)}` } };
  const said = isOrder(line)
    ? saySituation(line, now)
    : living !== null
      ? living.reason
      : 'It is read again on the next round that fits.';
  const href = isOrder(line) ? `/orders/${line.id}` : `/assets/${line.assetId}?point=${encodeURIComponent(line.letter)}`;
  const state = isOrder(line) ? ORDER_STATE_WORDS[line.state] : FINDING_STATE_WORDS[line.state];
  return (
    <li class="openrow" aria-label={`${state}: ${line.assetName}`}>
      <p class="g">{state}</p>
      <div class="a">
        <p>
          <a class="nm2" href={href}>
            {line.assetName}
          </a>{' '}
          <Tag tag={line.tag} letter={line.letter} />
        </p>
        <p class="soft small">{said}</p>
      </div>
      <div class="s" ref={box}>
        <Strip frame={frame} width={width} content={content} label={said} isTall={false} />
      </div>
      <p class="w small">{isOrder(line) ? sayBall(line.owner?.name) : 'It comes back here'}</p>
    </li>
  );
}
