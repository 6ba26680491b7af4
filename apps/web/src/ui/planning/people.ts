import { type Action, may } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import { type Answer, call } from '../../client/index.ts';

export type People = Answer<'listPeople'>['people'];

/** The people who may do this, by name; fetched once there is something to be done, none before that and without signal. */
export function usePeople(action: Action | null): People {
  const [people, setPeople] = useState<People>([]);
  useEffect(() => {
    if (action === null) return;
    let isHere = true;
    call('listPeople', {}).then(
      (found) => isHere && setPeople(found.people.filter(({ roles }) => may(roles, action))),
      () => undefined,
    );
    return () => {
      isHere = false;
    };
  }, [action]);
  return people;
}
