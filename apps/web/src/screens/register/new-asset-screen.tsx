import {
  CAUTIONS,
  CRITICALITIES,
  type Criticality,
  HAZARDS,
  type Hazard,
  sideOf,
  TEMPLATES,
  unitOfCriterion,
} from '@heatround/domain';
import { useState } from 'preact/hooks';
import { call, newId, Refusal, sayTrouble } from '../../client/index.ts';
import { go } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { sayCount, sayLimit, sayUnit, sentenceCase } from '../../ui/format.ts';
import { GRADE_WORDS } from '../../ui/marks.tsx';
import { CRITERION_WORDS, sayHolds } from '../asset/words.ts';
import { PlaceFields, usePlace } from './place.tsx';
import './register.css';

const POINTERS = ['tag', 'name', 'criticality', 'criticalityReason', 'roomId', 'template', 'zone'];
const CRITICALITY_WORDS: Readonly<Record<Criticality, string>> = {
  A: 'A: people or the whole house depend on it',
  B: 'B: missed within a day',
  C: 'C: can wait',
};

type TemplatePoint = (typeof TEMPLATES)[number]['points'][number];
/** "Watch 70, Plan 80, Soon 90, Now 100 °C as read": limits that a template brings. */
function sayDraft(set: TemplatePoint['limits'][number], point: TemplatePoint): string {
  const figures = (['watch', 'plan', 'soon', 'now'] as const)
    .filter((grade) => set[grade] !== null)
    .map((grade) => `${GRADE_WORDS[grade]} ${sayLimit(set[grade] as number)}`);
  const way = set.direction === 'low' ? ', and below' : '';
  const unit = unitOfCriterion(point.quantity, set.criterion);
  return `${figures.join(', ')}${sayUnit(unit)} ${CRITERION_WORDS[set.criterion]}${way}${sayHolds(set.holds)}`;
}

/** A new asset from a template, with its place made on the way where it does not exist yet. */
export function NewAssetScreen() {
  const { may } = useSession();
  const heading = useOpening('New asset');
  const place = usePlace();
  const [template, setTemplate] = useState('');
  const [hazards, setHazards] = useState<readonly string[]>([]);
  const [fields, setFields] = useState({ tag: '', name: '', reason: '' });
  const [criticality, setCriticality] = useState<Criticality>('B');
  const [isLifeSafety, setLifeSafety] = useState(false);
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  // The same id when the form is sent again after a break, so that nothing is made twice.
  const [id] = useState(newId);

  const chooseTemplate = (key: string): void => {
    setTemplate(key);
    setHazards(TEMPLATES.find((one) => one.key === key)?.hazards ?? []);
  };
  const save = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (isBusy) return;
    setBusy(true);
    setTrouble(null);
    try {
      const inRoom = await place.make();
      const made = await call('createAsset', {
        body: {
          id,
          roomId: inRoom,
          tag: fields.tag,
          name: fields.name,
          criticality,
          criticalityReason: fields.reason,
          lifeSafety: isLifeSafety,
          hazards: [...hazards],
          ...(template === '' ? {} : { template }),
        },
      });
      go(`/assets/${made.id}`);
    } catch (failed) {
      setTrouble(failed);
      setBusy(false);
      // What was made before the refusal now exists and can be chosen.
      void place.look().catch(() => undefined);
    }
  };
  const at = (pointer: string): string | null => (trouble instanceof Refusal ? trouble.at(pointer) : null);
  const typed = (key: keyof typeof fields) => (event: { currentTarget: HTMLInputElement | HTMLTextAreaElement }) =>
    setFields({ ...fields, [key]: event.currentTarget.value });
  const chosen = TEMPLATES.find((one) => one.key === template);

  if (!may('edit-register')) {
    return (
      <h1 class="say open" tabIndex={-1} ref={heading}>
        A planner or an administrator can add assets.
      </h1>
    );
  }
  return (
    <div class="newasset">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {chosen === undefined
          ? 'A new asset, with points from a template or of your own.'
          : `A new asset with ${sayCount(chosen.points.length, 'point')}: ${chosen.name.toLowerCase()}.`}
      </h1>
      <form onSubmit={(event) => void save(event)} noValidate>
        <Field
          label="Template"
          hint={chosen?.what ?? 'Points, spots, cautions and sourced limits to start with; all can be changed afterwards.'}
          wrong={at('template')}
        >
          {(aria) => (
            <select {...aria} class="entry" value={template} onChange={(event) => chooseTemplate(event.currentTarget.value)}>
              <option value="">None, the points come later</option>
              {TEMPLATES.map((one) => (
                <option key={one.key} value={one.key}>
                  {one.name}
                </option>
              ))}
            </select>
          )}
        </Field>
        {chosen?.readEveryDays !== undefined && <p class="note">Read at least every {sayCount(chosen.readEveryDays, 'day')}.</p>}
        {chosen !== undefined && (
          <ul class="templatepoints">
            {chosen.points.map((one) => (
              <li key={one.letter}>
                <b>{one.letter}</b> {one.name} <span class="soft">{one.spot}</span>
                {one.limits.map((set) => (
                  <p class="note" key={sideOf(set)}>
                    <b>{sayDraft(set, one)}</b>. {sentenceCase(set.source)}. {set.reason}
                  </p>
                ))}
              </li>
            ))}
          </ul>
        )}
        <div class="row2">
          <Field label="Tag" hint="As on the plate, such as B-IRO-01." wrong={at('tag')}>
            {(aria) => (
              <input
                {...aria}
                class="entry"
                type="text"
                autocapitalize="characters"
                spellcheck={false}
                maxLength={60}
                value={fields.tag}
                onInput={typed('tag')}
              />
            )}
          </Field>
          <Field label="Name" hint="What people call it." wrong={at('name')}>
            {(aria) => <input {...aria} class="entry" type="text" maxLength={200} value={fields.name} onInput={typed('name')} />}
          </Field>
        </div>
        <PlaceFields place={place} wrong={at} />
        <Field label="Criticality" wrong={at('criticality')}>
          {(aria) => (
            <select
              {...aria}
              class="entry"
              value={criticality}
              onChange={(event) => setCriticality(event.currentTarget.value as Criticality)}
            >
              {CRITICALITIES.map((one) => (
                <option key={one} value={one}>
                  {CRITICALITY_WORDS[one]}
                </option>
              ))}
            </select>
          )}
        </Field>
        <Field
          label="Why this criticality"
          hint="Such as: one of two ironers; linen for a day in store."
          wrong={at('criticalityReason')}
        >
          {(aria) => (
            <input {...aria} class="entry" type="text" maxLength={500} value={fields.reason} onInput={typed('reason')} />
          )}
        </Field>
        <label class="choice">
          <input type="checkbox" checked={isLifeSafety} onChange={(event) => setLifeSafety(event.currentTarget.checked)} />
          It protects lives, as a fire pump does: Plan and worse count one grade higher
        </label>
        <details class="hazards" open={hazards.length > 0}>
          <summary>
            Cautions at the stop:{' '}
            {hazards.length === 0
              ? 'none yet'
              : hazards.map((one) => CAUTIONS[one as Hazard]?.title.toLowerCase() ?? one).join(', ')}
          </summary>
          <div class="hazardgrid">
            {HAZARDS.map((one) => (
              <label class="choice" key={one}>
                <input
                  type="checkbox"
                  checked={hazards.includes(one)}
                  onChange={(event) =>
                    setHazards(event.currentTarget.checked ? [...hazards, one] : hazards.filter((other) => other !== one))
                  }
                />
                {CAUTIONS[one].title}
              </label>
            ))}
          </div>
        </details>
        {place.trouble !== null && <Told>{sayTrouble(place.trouble)}</Told>}
        {trouble !== null && (
          <Told>
            {sayTrouble(trouble)}
            {trouble instanceof Refusal && trouble.besides(POINTERS).map((one) => ` ${one}`)}
          </Told>
        )}
        <div class="keyrow">
          <button class="key main" type="submit" disabled={isBusy || place.sites === null}>
            {isBusy ? 'Adding' : `Add ${fields.tag.trim() === '' ? 'the asset' : fields.tag.trim()}`}
          </button>
          <a class="key" href="/register">
            Back to the register
          </a>
        </div>
      </form>
    </div>
  );
}
