import type { Site } from '@heatround/contract';
import { CAUTIONS, CRITICALITIES, type Criticality, HAZARDS, type Hazard, TEMPLATES, uuidV7 } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import { call, Refusal, sayTrouble } from '../../client/index.ts';
import { go } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { sayCount, thisZone } from '../../ui/format.ts';
import './register.css';

const NEW = 'new';
const newId = (): string => uuidV7(Date.now(), crypto.getRandomValues(new Uint8Array(10)));
const POINTERS = ['tag', 'name', 'criticality', 'criticalityReason', 'roomId', 'template', 'zone'];
const CRITICALITY_WORDS: Readonly<Record<Criticality, string>> = {
  A: 'A: people or the whole house depend on it',
  B: 'B: missed within a day',
  C: 'C: can wait',
};

/** A new asset from a template, with its place made on the way where it does not exist yet. */
export function NewAssetScreen() {
  const { may } = useSession();
  const heading = useOpening('New asset');
  const [sites, setSites] = useState<readonly Site[] | null>(null);
  const [siteId, setSiteId] = useState('');
  const [buildingId, setBuildingId] = useState('');
  const [roomId, setRoomId] = useState('');
  const [names, setNames] = useState({ site: '', zone: thisZone(), building: '', room: '' });
  const [template, setTemplate] = useState('');
  const [hazards, setHazards] = useState<readonly string[]>([]);
  const [fields, setFields] = useState({ tag: '', name: '', reason: '' });
  const [criticality, setCriticality] = useState<Criticality>('B');
  const [isLifeSafety, setLifeSafety] = useState(false);
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  // The same id when the form is sent again after a break, so that nothing is made twice.
  const [id] = useState(newId);

  useEffect(() => {
    call('listSites', {}).then(
      ({ sites: found }) => {
        setSites(found);
        const site = found[0];
        const building = site?.buildings[0];
        setSiteId(site?.id ?? NEW);
        setBuildingId(building?.id ?? NEW);
        setRoomId(building?.rooms[0]?.id ?? NEW);
      },
      (failed) => setTrouble(failed),
    );
  }, []);

  const site = sites?.find((one) => one.id === siteId);
  const building = site?.buildings.find((one) => one.id === buildingId);
  const chooseTemplate = (key: string): void => {
    setTemplate(key);
    setHazards(TEMPLATES.find((one) => one.key === key)?.hazards ?? []);
  };
  const chooseSite = (chosen: string): void => {
    setSiteId(chosen);
    const first = sites?.find((one) => one.id === chosen)?.buildings[0];
    setBuildingId(first?.id ?? NEW);
    setRoomId(first?.rooms[0]?.id ?? NEW);
  };
  const chooseBuilding = (chosen: string): void => {
    setBuildingId(chosen);
    setRoomId(site?.buildings.find((one) => one.id === chosen)?.rooms[0]?.id ?? NEW);
  };

  const save = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (isBusy) return;
    setBusy(true);
    setTrouble(null);
    try {
      let [inSite, inBuilding, inRoom] = [siteId, buildingId, roomId];
      if (inSite === NEW) {
        inSite = (await call('createSite', { body: { name: names.site, zone: names.zone } })).id;
        setSiteId(inSite);
      }
      if (inBuilding === NEW) {
        inBuilding = (await call('createBuilding', { params: { siteId: inSite }, body: { name: names.building } })).id;
        setBuildingId(inBuilding);
      }
      if (inRoom === NEW) {
        inRoom = (await call('createRoom', { params: { buildingId: inBuilding }, body: { name: names.room } })).id;
        setRoomId(inRoom);
      }
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
      call('listSites', {})
        .then(({ sites: found }) => setSites(found))
        .catch(() => undefined);
    }
  };
  const at = (pointer: string): string | null => (trouble instanceof Refusal ? trouble.at(pointer) : null);
  const typed = (key: keyof typeof fields) => (event: { currentTarget: HTMLInputElement | HTMLTextAreaElement }) =>
    setFields({ ...fields, [key]: event.currentTarget.value });
  const named = (key: keyof typeof names) => (event: { currentTarget: HTMLInputElement }) =>
    setNames({ ...names, [key]: event.currentTarget.value });
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
        {chosen !== undefined && (
          <ul class="templatepoints">
            {chosen.points.map((one) => (
              <li key={one.letter}>
                <b>{one.letter}</b> {one.name} <span class="soft">{one.spot}</span>
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
        <div class="row2">
          <Field label="Site">
            {(aria) => (
              <select {...aria} class="entry" value={siteId} onChange={(event) => chooseSite(event.currentTarget.value)}>
                {sites?.map((one) => (
                  <option key={one.id} value={one.id}>
                    {one.name}
                  </option>
                ))}
                <option value={NEW}>A new site</option>
              </select>
            )}
          </Field>
          <Field label="Building">
            {(aria) => (
              <select {...aria} class="entry" value={buildingId} onChange={(event) => chooseBuilding(event.currentTarget.value)}>
                {site?.buildings.map((one) => (
                  <option key={one.id} value={one.id}>
                    {one.name}
                  </option>
                ))}
                <option value={NEW}>A new building</option>
              </select>
            )}
          </Field>
          <Field label="Room" wrong={at('roomId')}>
            {(aria) => (
              <select {...aria} class="entry" value={roomId} onChange={(event) => setRoomId(event.currentTarget.value)}>
                {building?.rooms.map((one) => (
                  <option key={one.id} value={one.id}>
                    {one.name}
                  </option>
                ))}
                <option value={NEW}>A new room</option>
              </select>
            )}
          </Field>
        </div>
        {(siteId === NEW || buildingId === NEW || roomId === NEW) && (
          <div class="row2">
            {siteId === NEW && (
              <>
                <Field label="Name of the site">
                  {(aria) => <input {...aria} class="entry" type="text" value={names.site} onInput={named('site')} />}
                </Field>
                <Field label="Its time zone" hint="Such as Europe/Dublin." wrong={at('zone')}>
                  {(aria) => (
                    <input {...aria} class="entry" type="text" spellcheck={false} value={names.zone} onInput={named('zone')} />
                  )}
                </Field>
              </>
            )}
            {buildingId === NEW && (
              <Field label="Name of the building">
                {(aria) => <input {...aria} class="entry" type="text" value={names.building} onInput={named('building')} />}
              </Field>
            )}
            {roomId === NEW && (
              <Field label="Name of the room">
                {(aria) => <input {...aria} class="entry" type="text" value={names.room} onInput={named('room')} />}
              </Field>
            )}
          </div>
        )}
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
        {trouble !== null && (
          <Told>
            {sayTrouble(trouble)}
            {trouble instanceof Refusal && trouble.besides(POINTERS).map((one) => ` ${one}`)}
          </Told>
        )}
        <div class="keyrow">
          <button class="key main" type="submit" disabled={isBusy || sites === null}>
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
