#!/usr/bin/env node
// Stand-in for Prisma's native schema engine, which the npm registry does not carry. It speaks the same protocol (JSON-RPC, one
// message per line, on stdin and stdout) on top of @prisma/schema-engine-wasm and the pg adapter. `prisma generate`, `migrate dev`,
// `migrate deploy`, `migrate status`, `migrate diff` and `db push` all work through it; prisma.config.ts at the root points here.
// The WebAssembly build must be the one of the installed Prisma version exactly, which is why both are pinned in package.json.
import { randomUUID } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import readline from 'node:readline';
import { PrismaPg } from '@prisma/adapter-pg';
import { bindMigrationAwareSqlAdapterFactory, ColumnTypeEnum } from '@prisma/driver-adapter-utils';
import * as bindings from '@prisma/schema-engine-wasm/schema_engine_bg';
import pg from 'pg';
import { parse } from 'pg-connection-string';

const args = process.argv.slice(2);
const option = (name) => (args.includes(name) ? args[args.indexOf(name) + 1] : undefined);

if (args.includes('--version')) {
  console.log('schema-engine-cli wasm');
  process.exit(0);
}

const url = JSON.parse(option('--datasource') ?? '{}').url;
const connection = parse(url || 'postgresql://x@127.0.0.1/x');
const quoted = pg.escapeIdentifier;

const withClient = async (database, work) => {
  const client = new pg.Client({ ...connection, database });
  await client.connect();
  try {
    await work(client);
  } finally {
    await client.end();
  }
};

if (args.includes('cli')) {
  try {
    if (args.at(-1) === 'create-database') {
      await withClient('postgres', (client) => client.query(`CREATE DATABASE ${quoted(connection.database)}`));
    } else {
      await withClient(connection.database, (client) => client.query('SELECT 1'));
    }
    process.exit(0);
  } catch (error) {
    // The Prisma CLI drops the first line of stderr and reads the rest as JSON.
    const fields = { message: error.message || error.code, error_code: error.code === '3D000' ? 'P1003' : 'P1001' };
    process.stderr.write(`schema-engine\n${JSON.stringify({ level: 'ERROR', target: 'schema_engine::logger', fields })}\n`);
    process.exit(1);
  }
}

// The adapter refuses a few catalogue types that the engine's describer reads: they are passed on as text, and the one-byte "char"
// as the engine's Character type.
const CHAR = 18;
const TEXT = 25;
const readAsText = new Set([CHAR, 22, 30, 194, 2205, 2206]);
const charColumns = new WeakMap();
const retype = (result) => {
  for (const [index, field] of (result?.fields ?? []).entries()) {
    if (!readAsText.has(field.dataTypeID)) continue;
    if (field.dataTypeID === CHAR) charColumns.set(result.rows, [...(charColumns.get(result.rows) ?? []), index]);
    field.dataTypeID = TEXT;
  }
  return result;
};
const plainQuery = pg.Client.prototype.query;
pg.Client.prototype.query = function query(...parameters) {
  const callback = parameters.at(-1);
  if (typeof callback === 'function') {
    parameters[parameters.length - 1] = (error, result) => callback(error, retype(result));
  }
  const result = plainQuery.apply(this, parameters);
  return typeof result?.then === 'function' ? result.then(retype) : result;
};

// The adapter splits scripts at every ';', which breaks $$ bodies: scripts are sent whole, as the native engine does.
const open = async (database) => {
  const adapter = await new PrismaPg({ ...connection, database, max: 2 }).connect();
  adapter.executeScript = async (script) => {
    try {
      await adapter.client.query(script);
    } catch (error) {
      adapter.onError(error);
    }
  };
  return adapter;
};

const factory = new PrismaPg(connection);
const adapterPrototype = Object.getPrototypeOf(Object.getPrototypeOf(await factory.connect()));
const plainQueryRaw = adapterPrototype.queryRaw;
adapterPrototype.queryRaw = async function queryRaw(query) {
  const result = await plainQueryRaw.call(this, query);
  for (const index of charColumns.get(result.rows) ?? []) result.columnTypes[index] = ColumnTypeEnum.Character;
  return result;
};
factory.connect = () => open(connection.database);
// The adapter's own shadow database ignores `database` beside a connection string and is dropped while still connected.
factory.connectToShadowDb = async () => {
  const name = `prisma_migrate_shadow_db_${randomUUID()}`;
  await withClient(connection.database, (client) => client.query(`CREATE DATABASE ${quoted(name)}`));
  const adapter = await open(name);
  adapter.dispose = async () => {
    await adapter.client.end();
    await withClient(connection.database, (client) => client.query(`DROP DATABASE ${quoted(name)} WITH (FORCE)`));
  };
  return adapter;
};

// The engine reports its own crashes here.
globalThis.PRISMA_WASM_PANIC_REGISTRY = { set_message: (message) => process.stderr.write(`${message}\n`) };
const wasmFile = createRequire(import.meta.url)
  .resolve('@prisma/schema-engine-wasm/schema_engine_bg')
  .replace(/\.js$/, '.wasm');
const { instance } = await WebAssembly.instantiate(readFileSync(wasmFile), { './schema_engine_bg.js': bindings });
bindings.__wbg_set_wasm(instance.exports);
instance.exports.__wbindgen_start();

const datamodels = option('--datamodels')
  ?.split(',')
  .map((path) => [path, readFileSync(path, 'utf8')]);
const send = (message) => process.stdout.write(`${JSON.stringify({ jsonrpc: '2.0', ...message })}\n`);
const asRpcError = (error) => ({
  code: 4466,
  message: 'error',
  data: {
    is_panic: false,
    message: String(error.message ?? error),
    meta: error.meta ?? {},
    ...(error.code && { error_code: error.code }),
  },
});

let engine;
let queue = Promise.resolve();
const answer = async ({ id, method, params }) => {
  try {
    engine ??= await bindings.SchemaEngine.new({ datamodels }, () => {}, bindMigrationAwareSqlAdapterFactory(factory));
    const result = await engine[method === 'getDatabaseVersion' ? 'version' : method](params);
    if (method === 'diff' && result.stdout) send({ id: 0, method: 'print', params: { content: result.stdout } });
    send({ id, result: result ?? {} });
  } catch (error) {
    send({ id, error: asRpcError(error) });
  }
};
readline
  .createInterface({ input: process.stdin })
  .on('line', (line) => {
    const request = JSON.parse(line);
    queue = queue.then(() => answer(request));
  })
  .on('close', () => queue.finally(() => process.exit(0)));
