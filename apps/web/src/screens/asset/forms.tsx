import type { AssetPage, PointPage, Site, TriedOnHistory } from '@heatround/contract';
import {
  budgetOf,
  CRITERIA,
  CRITERION_OF,
  CRITICALITIES,
  type CriterionKind,
  type Criticality,
  checkLimitSet,
  criterionFits,
  emissivityReliability,
  type LimitHolds,
  limitsInForce,
  plainUnitOf,
  QUANTITIES,
  type Quantity,
  SURFACES,
  type SurfaceKey,
  sideOf,
  WITH_PARTS,
} from '@heatround/domain';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { call, newId, Refusal, sayTrouble } from '../../client/index.ts';
import { Field, Told } from '../../ui/field.tsx';
import { sayCount, sayLimit } from '../../ui/format.ts';
import { GRADE_WORDS } from '../../ui/marks.tsx';
import { sayQuantity } from '../bring-in/words.ts';
import { LimitsTrial } from './limits-trial.tsx';
import { CRITERION_WORDS } from './words.ts';

export interface FormProps {
  readonly page: AssetPage;
  readonly at: PointPage | null;
  readonly now: number;
  readonly refresh: () => Promise<void>;
  readonly onDone: () => void;
}
const GRADES_OF_LIMITS = ['watch', 'plan', 'soon', 'now'] as const;

/** A figure as typed: point or comma, minus in both ways; null when empty, NaN when it is none. */
function figureOf(text: string): number | null {
  const plain = text.trim().replace(',', '.').replace('−', '-');
  return plain === '' ? null : Number(plain);
}

/** "Watch 70": figures that stand now and would stand no longer. */
export function cleared(
  present: Readonly<Record<(typeof GRADES_OF_LIMITS)[number], number | null>> | null,
  next: Readonly<Record<(typeof GRADES_OF_LIMITS)[number], number | null>>,
): string[] {
  return GRADES_OF_LIMITS.flatMap((grade) => {
    const was = present?.[grade] ?? null;
    return was !== null && next[grade] === null ? [`${GRADE_WORDS[grade]} ${sayLimit(was)}`] : [];
  });
}

/** Title, fields, keys, and the refusal where it belongs. */
function Sheet(props: {
  title: string;
  word: string;
  /** @returns a sentence on what is left to do, where something is; it stays until it is read. */
  onSave: () => Promise<unknown>;
  onDone: () => void;
  shown: readonly string[];
  children: (at: (pointer: string) => string | null) => ComponentChildren;
}) {
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isBusy, setBusy] = useState(false);
  const [left, setLeft] = useState<string | null>(null);
  const title = useRef<HTMLHeadingElement>(null);
  useEffect(() => title.current?.focus(), [left]);
  const save = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (isBusy) return;
    setBusy(true);
    setTrouble(null);
    try {
      const toDo = await props.onSave();
      if (typeof toDo === 'string') setLeft(toDo);
      else props.onDone();
    } catch (failed) {
      setTrouble(failed);
      setBusy(false);
    }
  };
  if (left !== null) {
    return (
      <div class="sheetform">
        <h3 tabIndex={-1} ref={title}>
          Saved. {left}
        </h3>
        <div class="keyrow">
          <button type="button" class="key main" onClick={props.onDone}>
            Read it
          </button>
        </div>
      </div>
    );
  }
  const refusal = trouble instanceof Refusal ? trouble : null;
  return (
    <form class="sheetform" onSubmit={(event) => void save(event)} noValidate>
      <h3 tabIndex={-1} ref={title}>
        {props.title}
      </h3>
      {props.children((pointer) => refusal?.at(pointer) ?? null)}
      {trouble !== null && (
        <Told>
          {sayTrouble(trouble)}
          {refusal?.besides(props.shown).map((one) => ` ${one}`)}
        </Told>
      )}
      <div class="keyrow">
        <button type="submit" class="key main" disabled={isBusy}>
          {isBusy ? 'Saving' : props.word}
        </button>
        <button type="button" class="key" onClick={props.onDone}>
          Leave it
        </button>
      </div>
    </form>
  );
}

/** When a side of the limits holds, as one word of the form. */
type When = 'always' | 'mild' | 'cold' | 'season';
const WHEN_WORDS: Readonly<Record<When, string>> = {
  always: 'always',
  mild: 'in mild weather, 10 °C outdoors or more',
  cold: 'in cold weather, below 5 °C outdoors',
  season: 'in a season',
};

/** A new version of one side of the limits; the one before stays for what was read under it, the other sides stay as they are. */
function LimitsForm({ page, at, now, refresh, onDone }: FormProps) {
  const point = at!.point;
  const inForce = limitsInForce(at!.limits, now).map(({ set }) => set);
  const first = inForce.find((set) => set.criterion === CRITERION_OF[point.quantity]);
  const [criterion, setCriterion] = useState<CriterionKind>(CRITERION_OF[point.quantity]);
  const [direction, setDirection] = useState<'high' | 'low'>(first?.direction ?? 'high');
  const [when, setWhen] = useState<When>(
    first?.holds == null ? 'always' : 'weather' in first.holds ? first.holds.weather : 'season',
  );
  const [season, setSeason] = useState(
    first?.holds != null && 'season' in first.holds ? first.holds : { season: '', from: '05-01', until: '09-30' },
  );
  const holds: LimitHolds | null = when === 'always' ? null : when === 'season' ? season : { weather: when };
  const side = sideOf({ criterion, direction, holds });
  const present = inForce.find((set) => sideOf(set) === side) ?? null;
  const filled = (): Record<string, string> =>
    Object.fromEntries(GRADES_OF_LIMITS.map((grade) => [grade, present?.[grade] == null ? '' : sayLimit(present[grade])]));
  const [figures, setFigures] = useState(filled);
  const [source, setSource] = useState(present?.source ?? '');
  const [reason, setReason] = useState('');
  const [id] = useState(newId);
  /** What was asked about already. */
  const asked = useRef('');
  useEffect(() => {
    setFigures(filled());
    setSource(present?.source ?? '');
  }, [side]);
  const chooseCriterion = (chosen: CriterionKind): void => {
    setCriterion(chosen);
    const known = inForce.find((set) => set.criterion === chosen);
    if (known !== undefined) setDirection(known.direction);
  };
  const typed = () =>
    Object.fromEntries(GRADES_OF_LIMITS.map((grade) => [grade, figureOf(figures[grade] ?? '')])) as Record<
      (typeof GRADES_OF_LIMITS)[number],
      number | null
    >;
  /** What was tried last, as long as the form still says the same. */
  const [trial, setTrial] = useState<{ of: string; told: TriedOnHistory | string | null } | null>(null);
  const tried = JSON.stringify([side, figures]);
  const tryThem = async (): Promise<void> => {
    const told = (now: TriedOnHistory | string | null) => setTrial({ of: tried, told: now });
    if (Object.values(typed()).some((figure) => Number.isNaN(figure)))
      return told('One of the figures is no number; such as 70 or 4,5.');
    told(null);
    try {
      told(await call('tryLimits', { params: { pointId: point.id }, body: { criterion, direction, holds, ...typed() } }));
    } catch (failed) {
      const details = failed instanceof Refusal ? failed.besides([]) : [];
      told([sayTrouble(failed), ...details].join(' '));
    }
  };
  const save = async (): Promise<void> => {
    const numbers = typed();
    const draft = {
      criterion,
      direction,
      holds,
      ...numbers,
      source: source.trim(),
      reason: reason.trim(),
      origin: 'point' as const,
    };
    const problems = checkLimitSet(draft, point.quantity, at!.limits, now);
    if (problems.length > 0)
      throw new Refusal(422, 'limits-refused', 'Nothing was changed. These figures cannot stand as they are.', problems);
    const gone = cleared(present, numbers);
    if (gone.length > 0 && asked.current !== gone.join()) {
      asked.current = gone.join();
      throw new Refusal(
        422,
        'limits-refused',
        `${gone.join(' and ')} will be gone. Nothing is changed yet: set the limits once more to do without, or write the figure again.`,
      );
    }
    await call('addLimits', { params: { pointId: point.id }, body: { id, ...draft } });
    await refresh();
  };
  return (
    <Sheet
      title={`New limits for point ${point.letter}, valid from now on`}
      word="Set these limits"
      onSave={save}
      onDone={onDone}
      shown={[...GRADES_OF_LIMITS, 'source', 'reason', 'criterion', 'holds/season', 'holds/from', 'holds/until']}
    >
      {(wrong) => (
        <>
          <div class="row2">
            <Field label="Compared" wrong={wrong('criterion')}>
              {(aria) => (
                <select
                  {...aria}
                  class="entry"
                  value={criterion}
                  onChange={(event) => chooseCriterion(event.currentTarget.value as CriterionKind)}
                >
                  {CRITERIA.filter((one) => criterionFits(one, point.quantity)).map((one) => (
                    <option key={one} value={one}>
                      {CRITERION_WORDS[one]}
                    </option>
                  ))}
                </select>
              )}
            </Field>
            <Field label="Bad is">
              {(aria) => (
                <select
                  {...aria}
                  class="entry"
                  value={direction}
                  onChange={(event) => setDirection(event.currentTarget.value as 'high' | 'low')}
                >
                  <option value="high">too high</option>
                  <option value="low">too low</option>
                </select>
              )}
            </Field>
          </div>
          <Field label="Holds">
            {(aria) => (
              <select {...aria} class="entry" value={when} onChange={(event) => setWhen(event.currentTarget.value as When)}>
                {Object.entries(WHEN_WORDS).map(([one, words]) => (
                  <option key={one} value={one}>
                    {words}
                  </option>
                ))}
              </select>
            )}
          </Field>
          {when === 'season' && (
            <div class="row2">
              {(
                [
                  ['season', 'Season', 'Such as cooling.'],
                  ['from', 'First day', 'Month and day, 05-01.'],
                  ['until', 'Last day', 'Month and day, 09-30.'],
                ] as const
              ).map(([name, label, hint]) => (
                <Field key={name} label={label} hint={hint} wrong={wrong(`holds/${name}`)}>
                  {(aria) => (
                    <input
                      {...aria}
                      class="entry"
                      type="text"
                      maxLength={40}
                      value={season[name]}
                      onInput={(event) => setSeason({ ...season, [name]: event.currentTarget.value })}
                    />
                  )}
                </Field>
              ))}
            </div>
          )}
          <div class="row4">
            {GRADES_OF_LIMITS.map((grade) => (
              <Field key={grade} label={GRADE_WORDS[grade]} wrong={wrong(grade)}>
                {(aria) => (
                  <input
                    {...aria}
                    class="entry"
                    type="text"
                    inputMode="decimal"
                    value={figures[grade]}
                    onInput={(event) => setFigures({ ...figures, [grade]: event.currentTarget.value })}
                  />
                )}
              </Field>
            ))}
          </div>
          <div class="trykey">
            <button
              type="button"
              class="key"
              disabled={trial?.of === tried && trial.told === null}
              onClick={() => void tryThem()}
            >
              Try on the history
            </button>
            <p class="quiet">Shows what these figures would have said of the readings there are. Nothing is changed by it.</p>
          </div>
          {trial?.of === tried && trial.told === null && <p aria-live="polite">Judging the history again</p>}
          {trial?.of === tried && typeof trial.told === 'string' && <Told>{trial.told}</Told>}
          {trial?.of === tried && trial.told !== null && typeof trial.told !== 'string' && (
            <LimitsTrial trial={trial.told} at={at!} zone={page.place.zone} now={now} />
          )}
          <Field
            label="Source"
            hint="A standard by name and number, a maker’s sheet, commissioning, site practice."
            wrong={wrong('source')}
          >
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                maxLength={300}
                value={source}
                onInput={(event) => setSource(event.currentTarget.value)}
              />
            )}
          </Field>
          <Field
            label="Why these figures are right here"
            hint="In plain words; people at the stop will read it."
            wrong={wrong('reason')}
          >
            {(aria) => (
              <textarea
                {...aria}
                class="entry"
                maxLength={1000}
                value={reason}
                onInput={(event) => setReason(event.currentTarget.value)}
              />
            )}
          </Field>
        </>
      )}
    </Sheet>
  );
}

function BaseForm({ at, refresh, onDone }: FormProps) {
  const point = at!.point;
  const unit = plainUnitOf(point.quantity);
  const proposed = point.base?.value ?? at!.conclusion?.proposedBase?.value ?? null;
  const [value, setValue] = useState(proposed === null ? '' : sayLimit(Number(proposed.toFixed(1))));
  const [reason, setReason] = useState('');
  const save = async (): Promise<void> => {
    const figure = figureOf(value);
    if (figure === null || !Number.isFinite(figure))
      throw new Refusal(422, 'invalid-request', 'Nothing was changed.', [
        { pointer: '/value', detail: `A figure in ${unit}, such as 42 or 42,5.` },
      ]);
    await call('confirmBase', { params: { pointId: point.id }, body: { version: point.version, value: figure, reason } });
    await refresh();
  };
  return (
    <Sheet
      title={`The base of point ${point.letter}`}
      word="Confirm the base"
      onSave={save}
      onDone={onDone}
      shown={['value', 'reason']}
    >
      {(wrong) => (
        <>
          <Field label={`Base, ${unit}`} hint="What it reads at like load when all is well." wrong={wrong('value')}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                inputMode="decimal"
                value={value}
                onInput={(event) => setValue(event.currentTarget.value)}
              />
            )}
          </Field>
          <Field label="Why" hint="Such as: five readings after the new bearing, all at full load." wrong={wrong('reason')}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                maxLength={500}
                value={reason}
                onInput={(event) => setReason(event.currentTarget.value)}
              />
            )}
          </Field>
        </>
      )}
    </Sheet>
  );
}

function AssetForm({ page, refresh, onDone }: FormProps) {
  const [fields, setFields] = useState({
    tag: page.tag,
    name: page.name,
    reason: page.criticalityReason,
    roomId: page.place.roomId,
    out: page.outOfService?.reason ?? '',
  });
  const [criticality, setCriticality] = useState<Criticality>(page.criticality);
  const [sites, setSites] = useState<readonly Site[]>([]);
  useEffect(() => {
    call('listSites', {})
      .then(({ sites: found }) => setSites(found))
      .catch(() => undefined);
  }, []);
  const save = async (): Promise<string | undefined> => {
    const out = fields.out.trim();
    const isOut = page.outOfService != null;
    let left: { openOrders: readonly number[]; leftRoutes: readonly string[] };
    try {
      left = await call('changeAsset', {
        params: { assetId: page.id },
        body: {
          version: page.version,
          ...(fields.tag === page.tag ? {} : { tag: fields.tag }),
          ...(fields.name === page.name ? {} : { name: fields.name }),
          ...(fields.roomId === page.place.roomId ? {} : { roomId: fields.roomId }),
          ...(criticality === page.criticality && fields.reason === page.criticalityReason
            ? {}
            : { criticality, criticalityReason: fields.reason }),
          ...((out !== '') === isOut ? {} : { outOfService: out === '' ? null : { reason: out } }),
        },
      });
    } catch (failed) {
      // Somebody else was faster: show what stands now beside what was typed here.
      if (failed instanceof Refusal && failed.status === 412) await refresh();
      throw failed;
    }
    await refresh();
    const said = [
      ...(left.openOrders.length === 0 ? [] : [`Still open: ${left.openOrders.map((number) => `order ${number}`).join(', ')}.`]),
      ...(left.leftRoutes.length === 0 ? [] : [`No longer walked on ${left.leftRoutes.join(', ')}.`]),
    ];
    return said.length === 0 ? undefined : said.join(' ');
  };
  const typed = (key: keyof typeof fields) => (event: { currentTarget: HTMLInputElement | HTMLSelectElement }) =>
    setFields({ ...fields, [key]: event.currentTarget.value });
  return (
    <Sheet
      title={`Change ${page.tag}`}
      word="Save the change"
      onSave={save}
      onDone={onDone}
      shown={['tag', 'name', 'roomId', 'criticality', 'criticalityReason', 'outOfService/reason']}
    >
      {(wrong) => (
        <>
          <div class="row2">
            <Field label="Tag" hint="The old one stays known." wrong={wrong('tag')}>
              {(aria) => <input {...aria} class="entry" type="text" maxLength={60} value={fields.tag} onInput={typed('tag')} />}
            </Field>
            <Field label="Name" wrong={wrong('name')}>
              {(aria) => (
                <input {...aria} class="entry" type="text" maxLength={200} value={fields.name} onInput={typed('name')} />
              )}
            </Field>
          </div>
          <Field label="Room" wrong={wrong('roomId')}>
            {(aria) => (
              <select {...aria} class="entry" value={fields.roomId} onChange={typed('roomId')}>
                {sites.length === 0 && <option value={page.place.roomId}>{page.place.room}</option>}
                {sites.flatMap((site) =>
                  site.buildings.flatMap((building) =>
                    building.rooms.map((room) => (
                      <option key={room.id} value={room.id}>
                        {building.name}, {room.name}
                      </option>
                    )),
                  ),
                )}
              </select>
            )}
          </Field>
          <div class="row2">
            <Field label="Criticality" wrong={wrong('criticality')}>
              {(aria) => (
                <select
                  {...aria}
                  class="entry"
                  value={criticality}
                  onChange={(event) => setCriticality(event.currentTarget.value as Criticality)}
                >
                  {CRITICALITIES.map((one) => (
                    <option key={one} value={one}>
                      {one}
                    </option>
                  ))}
                </select>
              )}
            </Field>
            <Field label="Why" wrong={wrong('criticalityReason')}>
              {(aria) => (
                <input {...aria} class="entry" type="text" maxLength={500} value={fields.reason} onInput={typed('reason')} />
              )}
            </Field>
          </div>
          <Field
            label="Out of service because"
            hint={
              page.outOfService == null
                ? 'Leave it empty while it is in service. With a reason its stops leave the rounds; what was read stays.'
                : 'Empty it to put the asset back into service.'
            }
            wrong={wrong('outOfService/reason')}
          >
            {(aria) => <input {...aria} class="entry" type="text" maxLength={500} value={fields.out} onInput={typed('out')} />}
          </Field>
        </>
      )}
    </Sheet>
  );
}

function PointForm({ page, refresh, onDone }: FormProps) {
  const taken = page.points.map(({ point }) => point.letter);
  const [fields, setFields] = useState({
    letter: [...'abcdefghijklmnopqrstuvwxyz'].find((one) => !taken.includes(one)) ?? '',
    name: '',
    spot: '',
    parts: 'L1, L2, L3',
  });
  const [quantity, setQuantity] = useState<Quantity>('temperature');
  const [id] = useState(newId);
  const save = async (): Promise<void> => {
    const parts = fields.parts
      .split(',')
      .map((part) => part.trim())
      .filter(Boolean);
    await call('addPoint', {
      params: { assetId: page.id },
      body: {
        id,
        letter: fields.letter,
        name: fields.name,
        quantity,
        spot: fields.spot,
        ...(WITH_PARTS.includes(quantity) ? { parts } : {}),
      },
    });
    await refresh();
  };
  const typed = (key: keyof typeof fields) => (event: { currentTarget: HTMLInputElement }) =>
    setFields({ ...fields, [key]: event.currentTarget.value });
  return (
    <Sheet
      title="A further point"
      word="Add the point"
      onSave={save}
      onDone={onDone}
      shown={['letter', 'name', 'spot', 'quantity', 'parts']}
    >
      {(wrong) => (
        <>
          <div class="row2">
            <Field label="Letter" wrong={wrong('letter')}>
              {(aria) => (
                <input {...aria} class="entry" type="text" maxLength={4} value={fields.letter} onInput={typed('letter')} />
              )}
            </Field>
            <Field label="Name" hint="Such as gearbox bearing." wrong={wrong('name')}>
              {(aria) => (
                <input {...aria} class="entry" type="text" maxLength={200} value={fields.name} onInput={typed('name')} />
              )}
            </Field>
          </div>
          <Field label="What it measures" wrong={wrong('quantity')}>
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={quantity}
                onChange={(event) => setQuantity(event.currentTarget.value as Quantity)}
              >
                {QUANTITIES.map((one) => (
                  <option key={one} value={one}>
                    {sayQuantity(one)}
                  </option>
                ))}
              </select>
            )}
          </Field>
          {WITH_PARTS.includes(quantity) && (
            <Field label="The like parts" hint="Separated by commas, two at least." wrong={wrong('parts')}>
              {(aria) => <input {...aria} class="entry" type="text" value={fields.parts} onInput={typed('parts')} />}
            </Field>
          )}
          <Field label="Where to aim, from where" hint="Such as: bearing cap, 0.5 m away, square on." wrong={wrong('spot')}>
            {(aria) => <input {...aria} class="entry" type="text" maxLength={300} value={fields.spot} onInput={typed('spot')} />}
          </Field>
        </>
      )}
    </Sheet>
  );
}

/** A curve as pairs of place and value, one to a line or parted by semicolons: "0 10.2; 60 9.8". */
function curveOf(text: string): [number, number][] {
  return text
    .split(/[;\n]/)
    .map((pair) => pair.trim())
    .filter(Boolean)
    .map((pair) => {
      const [at = Number.NaN, value = Number.NaN] = pair.split(/\s+/).map((figure) => figureOf(figure) ?? Number.NaN);
      return [at, value];
    });
}

/** What a temperature is good for under an emissivity, by how well it would be known at 80 °C in a room of 20 °C. */
function sayKnown(emissivity: number | null): string {
  if (emissivityReliability(emissivity) === 'unreliable')
    return 'Too low, or not known: nothing is judged from it. Put tape or paint on the spot, or read it by contact.';
  const known = budgetOf({ trueC: 80, emissivity: emissivity!, reflectedC: 20 });
  return known === null
    ? 'An emissivity is above 0 and at most 1.'
    : `A spot of 80 °C in a room of 20 °C is known to ±${sayLimit(Number(known.expanded.toFixed(1)))} K (95 %).`;
}

/** The table of usual surfaces, and what the figure means for a reading. */
function EmissivityHelp({ typed, onChoose }: { typed: number | null; onChoose: (figure: number | null) => void }) {
  return (
    <Field label="Or by its surface" hint={sayKnown(typed)}>
      {(aria) => (
        <select
          {...aria}
          class="entry"
          value=""
          onChange={(event) => {
            const key = event.currentTarget.value;
            // Back at the first line nothing is chosen, and what was typed stays.
            if (key === '') return;
            const surface = SURFACES[key as SurfaceKey];
            // Bare metal has none that could be used.
            onChoose(surface.isBareMetal ? null : surface.emissivity);
          }}
        >
          <option value="">choose from the table</option>
          {Object.entries(SURFACES).map(([key, { name, emissivity, isBareMetal }]) => (
            <option key={key} value={key}>
              {name}: {isBareMetal ? 'bare, needs tape or paint' : sayLimit(emissivity)}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
}

/** How a point is read: what is measured stays, everything about it may change. */
function ChangePointForm({ page, at, refresh, onDone }: FormProps) {
  const { point } = at!;
  const say = (figure: number | null): string => (figure === null ? '' : sayLimit(figure));
  const [fields, setFields] = useState({
    name: point.name,
    spot: point.spot,
    emissivity: say(point.emissivity),
    ratedCurrentA: say(point.ratedCurrentA),
    targetMm: say(point.targetMm),
    orificeMm: say(point.orificeMm),
    steamPricePerTonne: say(point.steamPricePerTonne),
    curve: point.curve.map(([place, value]) => `${sayLimit(place)} ${sayLimit(value)}`).join('; '),
  });
  const [twins, setTwins] = useState<readonly string[]>(point.twins);
  const others = page.points.filter((one) => one.point.id !== point.id && one.point.quantity === point.quantity);
  const elsewhere = twins.filter((id) => !others.some((one) => one.point.id === id)).length;
  const isElectrical = point.loadFamily === 'electrical' || point.quantity === 'current-of-rated';
  const isTrap = point.quantity === 'steam-trap';
  const save = async (): Promise<void> => {
    const curve = curveOf(fields.curve);
    const numbers = {
      emissivity: figureOf(fields.emissivity),
      ratedCurrentA: figureOf(fields.ratedCurrentA),
      targetMm: figureOf(fields.targetMm),
      orificeMm: figureOf(fields.orificeMm),
      steamPricePerTonne: figureOf(fields.steamPricePerTonne),
    };
    const wrong = Object.entries(numbers).flatMap(([name, figure]) =>
      figure !== null && !(figure > 0)
        ? [{ pointer: `/${name}`, detail: 'A figure above 0, such as 0.95 or 0,95; empty where unknown.' }]
        : [],
    );
    const isAscending = curve.every(([place], index) => index === 0 || place > curve[index - 1]![0]);
    if (!isAscending || curve.flat().some((figure) => !Number.isFinite(figure)))
      wrong.push({ pointer: '/curve', detail: 'Pairs of flow and pressure, the flow ascending, such as 0 10.2; 60 9.8.' });
    if (wrong.length > 0) throw new Refusal(422, 'invalid-request', 'Nothing was changed.', wrong);
    await call('changePoint', {
      params: { pointId: point.id },
      body: {
        version: point.version,
        name: fields.name,
        spot: fields.spot,
        ...(point.infrared ? { emissivity: numbers.emissivity, targetMm: numbers.targetMm } : {}),
        ...(isElectrical ? { ratedCurrentA: numbers.ratedCurrentA } : {}),
        ...(isTrap ? { orificeMm: numbers.orificeMm, steamPricePerTonne: numbers.steamPricePerTonne } : {}),
        ...(point.quantity === 'below-curve' ? { curve } : {}),
        twins: [...twins],
      },
    });
    await refresh();
  };
  const field = (name: keyof typeof fields, label: string, hint: string, wrong: (pointer: string) => string | null) => (
    <Field label={label} hint={hint} wrong={wrong(name)}>
      {(aria) => (
        <input
          {...aria}
          class="entry"
          type="text"
          maxLength={name === 'spot' ? 300 : 200}
          value={fields[name]}
          onInput={(event) => setFields({ ...fields, [name]: event.currentTarget.value })}
        />
      )}
    </Field>
  );
  return (
    <Sheet
      title={`How point ${point.letter} is read`}
      word="Change the point"
      onSave={save}
      onDone={onDone}
      shown={[...Object.keys(fields), 'twins']}
    >
      {(wrong) => (
        <>
          {field('name', 'Name', 'Such as gearbox bearing.', wrong)}
          {field('spot', 'Where to aim, from where', 'Such as: bearing cap, 0.5 m away, square on.', wrong)}
          {point.infrared && field('emissivity', 'Emissivity', 'Of the tape or paint on the spot; empty on bare metal.', wrong)}
          {point.infrared && (
            <EmissivityHelp
              typed={figureOf(fields.emissivity)}
              onChoose={(figure) => setFields({ ...fields, emissivity: figure === null ? '' : sayLimit(figure) })}
            />
          )}
          {point.infrared && field('targetMm', 'Narrowest width of the target, mm', 'Tells when a picture is too coarse.', wrong)}
          {isElectrical && field('ratedCurrentA', 'Rated current, A', 'From the plate; the load follows from it.', wrong)}
          {isTrap && field('orificeMm', 'Orifice, mm', 'Of the seat, from the maker; what it loses is estimated from it.', wrong)}
          {isTrap && field('steamPricePerTonne', 'Price of a tonne of steam', 'Says what a loss costs in a year.', wrong)}
          {point.quantity === 'below-curve' &&
            field(
              'curve',
              'Curve: flow in m³/h and pressure in bar',
              'Pairs parted by semicolons, such as 0 10.2; 60 9.8.',
              wrong,
            )}
          {others.length > 0 && (
            <fieldset class="field">
              <legend>Compared on the same visit with</legend>
              {others.map((one) => (
                <label key={one.point.id} class="choice">
                  <input
                    type="checkbox"
                    checked={twins.includes(one.point.id)}
                    onChange={(event) =>
                      setTwins(event.currentTarget.checked ? [...twins, one.point.id] : twins.filter((id) => id !== one.point.id))
                    }
                  />
                  {one.point.letter} {one.point.name}
                </label>
              ))}
              {elsewhere > 0 && <p class="note">And {sayCount(elsewhere, 'point')} of other machines.</p>}
            </fieldset>
          )}
        </>
      )}
    </Sheet>
  );
}

export const FORMS = {
  limits: LimitsForm,
  base: BaseForm,
  asset: AssetForm,
  point: PointForm,
  change: ChangePointForm,
} as const;
