import type { Site } from '@heatround/contract';
import { useEffect, useState } from 'preact/hooks';
import { call } from '../../client/index.ts';
import { Field } from '../../ui/field.tsx';
import { thisZone } from '../../ui/format.ts';

export const NEW = 'new';

/** The choice of a room, with site, building and room made on the way where they do not exist yet. */
export interface PlaceChoice {
  /** Null until the places are known. */
  readonly sites: readonly Site[] | null;
  readonly siteId: string;
  readonly buildingId: string;
  readonly roomId: string;
  readonly names: { readonly site: string; readonly zone: string; readonly building: string; readonly room: string };
  readonly trouble: unknown;
  readonly isNew: boolean;
  readonly chooseSite: (id: string) => void;
  readonly chooseBuilding: (id: string) => void;
  readonly chooseRoom: (id: string) => void;
  readonly name: (key: keyof PlaceChoice['names'], text: string) => void;
  /** Makes what is new and resolves to the room; what was made before a refusal is not made again. */
  readonly make: () => Promise<string>;
  /** Asks again what there is. */
  readonly look: () => Promise<void>;
}

/** @param startId room to begin with, where it exists. */
export function usePlace(startId?: string): PlaceChoice {
  const [sites, setSites] = useState<readonly Site[] | null>(null);
  const [siteId, setSiteId] = useState('');
  const [buildingId, setBuildingId] = useState('');
  const [roomId, setRoomId] = useState('');
  const [names, setNames] = useState({ site: '', zone: thisZone(), building: '', room: '' });
  const [trouble, setTrouble] = useState<unknown>(null);
  useEffect(() => {
    call('listSites', {}).then(
      ({ sites: found }) => {
        setSites(found);
        const all = found.flatMap((site) =>
          site.buildings.flatMap((building) => building.rooms.map((room) => ({ site, building, room }))),
        );
        const start = all.find(({ room }) => room.id === startId);
        const site = start?.site ?? found[0];
        const building = start?.building ?? site?.buildings[0];
        setSiteId(site?.id ?? NEW);
        setBuildingId(building?.id ?? NEW);
        setRoomId(start?.room.id ?? building?.rooms[0]?.id ?? NEW);
      },
      (failed) => setTrouble(failed),
    );
  }, []);
  const site = sites?.find((one) => one.id === siteId);
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
  const make = async (): Promise<string> => {
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
    return inRoom;
  };
  const look = async (): Promise<void> => {
    const { sites: found } = await call('listSites', {});
    setSites(found);
  };
  return {
    sites,
    siteId,
    buildingId,
    roomId,
    names,
    trouble,
    isNew: [siteId, buildingId, roomId].includes(NEW),
    chooseSite,
    chooseBuilding,
    chooseRoom: setRoomId,
    name: (key, text) => setNames({ ...names, [key]: text }),
    make,
    look,
  };
}

/** Site, building and room, and the names of those that are new. */
export function PlaceFields({ place, wrong }: { place: PlaceChoice; wrong: (pointer: string) => string | null }) {
  const { sites, siteId, buildingId, roomId, names, name } = place;
  const site = sites?.find((one) => one.id === siteId);
  const building = site?.buildings.find((one) => one.id === buildingId);
  return (
    <>
      <div class="row2">
        <Field label="Site">
          {(aria) => (
            <select {...aria} class="entry" value={siteId} onChange={(event) => place.chooseSite(event.currentTarget.value)}>
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
            <select
              {...aria}
              class="entry"
              value={buildingId}
              onChange={(event) => place.chooseBuilding(event.currentTarget.value)}
            >
              {site?.buildings.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
              <option value={NEW}>A new building</option>
            </select>
          )}
        </Field>
        <Field label="Room" wrong={wrong('roomId')}>
          {(aria) => (
            <select {...aria} class="entry" value={roomId} onChange={(event) => place.chooseRoom(event.currentTarget.value)}>
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
      {place.isNew && (
        <div class="row2">
          {siteId === NEW && (
            <>
              <Field label="Name of the site">
                {(aria) => (
                  <input
                    {...aria}
                    class="entry"
                    type="text"
                    value={names.site}
                    onInput={(event) => name('site', event.currentTarget.value)}
                  />
                )}
              </Field>
              <Field label="Its time zone" hint="Such as Europe/Dublin." wrong={wrong('zone')}>
                {(aria) => (
                  <input
                    {...aria}
                    class="entry"
                    type="text"
                    spellcheck={false}
                    value={names.zone}
                    onInput={(event) => name('zone', event.currentTarget.value)}
                  />
                )}
              </Field>
            </>
          )}
          {buildingId === NEW && (
            <Field label="Name of the building">
              {(aria) => (
                <input
                  {...aria}
                  class="entry"
                  type="text"
                  value={names.building}
                  onInput={(event) => name('building', event.currentTarget.value)}
                />
              )}
            </Field>
          )}
          {roomId === NEW && (
            <Field label="Name of the room">
              {(aria) => (
                <input
                  {...aria}
                  class="entry"
                  type="text"
                  value={names.room}
                  onInput={(event) => name('room', event.currentTarget.value)}
                />
              )}
            </Field>
          )}
        </div>
      )}
    </>
  );
}
