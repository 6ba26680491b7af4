import { randomUUID } from 'node:crypto';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { systemClock } from '@heatround/platform/clock';
import { openDatabase } from '@heatround/platform/database';
import { silentLog } from '@heatround/platform/log';
import { createAsset, createBuilding, createRoom, createSite } from '@heatround/services/assets';
import type { Scope } from '@heatround/services/deps';
import { createOrganisation } from '@heatround/services/identity';
import {
  checkImport,
  checkImportJob,
  type ImportMapping,
  runImport,
  runImportJob,
  startImport,
} from '@heatround/services/imports';
import pg from 'pg';
import { from as copyFrom } from 'pg-copy-streams';
import type { DatabaseUrls } from '../../packages/platform/src/database/migrate.ts';
import { testLimits } from '../support/harness.ts';
import type { Line } from './main.ts';
import { ms } from './timing.ts';

const POINTS = 500;

/**
 * Files brought in: 5,000 assets from a template, and a history of so many readings over 500 points, through upload, dry run and run as the
 * worker does them. The twin of the history is COPY of the same columns into a bare table: what remains of its rate is what reading,
 * judging and keeping each fact once leave.
 */
export async function importsBench(urls: DatabaseUrls, readings: number): Promise<Line[]> {
  const database = openDatabase({ appUrl: urls.app, sweepUrl: urls.sweep, log: silentLog });
  const deps = { database, clock: systemClock, log: silentLog };
  const owner = new pg.Client({ connectionString: urls.owner });
  await owner.connect();
  try {
    const organisationId = randomUUID();
    await createOrganisation(deps, { id: organisationId, name: 'Bench' });
    const scope: Scope = {
      organisationId,
      siteIds: null,
      personId: randomUUID(),
      name: 'Bench',
      roles: ['planner'],
      clockOffsetMs: 0,
    };
    await owner.query(
      `INSERT INTO membership (organisation_id, person_id, name, roles) VALUES ($1, $2, 'Bench', ARRAY['planner'])`,
      [organisationId, scope.personId],
    );
    const [siteId, buildingId, roomId] = [randomUUID(), randomUUID(), randomUUID()];
    await createSite(deps, scope, { id: siteId, name: 'Mill', zone: 'Europe/Dublin' });
    await createBuilding(deps, scope, { id: buildingId, siteId, name: 'Engine house' });
    await createRoom(deps, scope, { id: roomId, buildingId, name: 'Pump room' });
    for (let i = 0; i < POINTS; i++)
      await createAsset(deps, scope, {
        id: randomUUID(),
        roomId,
        tag: `M-${i}`,
        name: 'Feed pump',
        template: null,
        criticality: 'B',
        criticalityReason: 'bench',
        lifeSafety: false,
        points: [
          {
            point: { id: randomUUID(), letter: 'a', name: 'Bearing', quantity: 'temperature', loadFamily: 'none', needs: [] },
            spot: '',
            limits: [testLimits()],
          },
        ],
      });

    const bringIn = async (kind: 'readings' | 'assets', text: string) => {
      const id = randomUUID();
      const payload = { organisationId, importId: id };
      const times: number[] = [];
      const timed = async <T>(work: () => Promise<T>): Promise<T> => {
        const start = performance.now();
        const given = await work();
        times.push(performance.now() - start);
        return given;
      };
      const view = await timed(() => startImport(deps, scope, { id, kind, fileName: 'bench.csv', text }));
      const { proposal } = view as unknown as { proposal: ImportMapping };
      await timed(async () => {
        await checkImport(deps, scope, id, proposal);
        await checkImportJob.handle(deps, payload);
      });
      await timed(async () => {
        await runImport(deps, scope, id, false);
        await runImportJob.handle(deps, payload);
      });
      const { rows } = await owner.query<{ state: string; done: number }>(
        'SELECT state, done_count AS done FROM import WHERE organisation_id = $1 AND id = $2',
        [organisationId, id],
      );
      if (rows[0]?.state !== 'brought-in') throw new Error(`not brought in: ${JSON.stringify(rows[0])}`);
      console.log(`  ${kind}: upload ${ms(times[0]!)}, dry run ${ms(times[1]!)}, run ${ms(times[2]!)}`);
      return times.reduce((sum, one) => sum + one, 0);
    };

    const lines: Line[] = [];
    const assets = `site,building,room,tag,name,template,criticality,criticalityReason\n${Array.from({ length: 5000 }, (_, i) => `Mill,Engine house,Pump room,N-${i},Pump ${i},pump,C,stands by\n`).join('')}`;
    lines.push({
      what: '5,000 assets from a template',
      ours: ms(await bringIn('assets', assets)),
      twin: '60 s asked',
      ratio: '–',
    });

    const START = Date.UTC(2024, 0, 1);
    const row = (i: number): [string, string, string] => [
      `M-${i % POINTS}`,
      new Date(START + Math.floor(i / POINTS) * 12 * 3_600_000).toISOString(),
      (55 + ((i * 7) % 100) / 10).toFixed(1),
    ];
    const history = `tag,takenAt,value\n${Array.from({ length: readings }, (_, i) => `${row(i).join(',')}\n`).join('')}`;
    const taken = await bringIn('readings', history);
    await owner.query('CREATE TABLE raw_history (tag text, taken_at timestamptz, value float8)');
    const start = performance.now();
    await pipeline(
      Readable.from(
        (function* () {
          for (let i = 0; i < readings; i++) yield `${row(i).join(',')}\n`;
        })(),
      ),
      owner.query(copyFrom('COPY raw_history FROM STDIN (FORMAT csv)')),
    );
    const copied = performance.now() - start;
    const rate = (time: number): string => `${Math.round((readings / time) * 1000).toLocaleString('en')}/s`;
    lines.push({
      what: `${readings.toLocaleString('en')} readings of ${POINTS} points`,
      ours: `${ms(taken)} (${rate(taken)})`,
      twin: `COPY ${ms(copied)} (${rate(copied)})`,
      ratio: (copied / taken).toFixed(4),
    });
    return lines;
  } finally {
    await owner.end();
    await database.close();
  }
}
