/**
 * JSON Schema in words: what a value is, and the parts of an object as a list. Everything that comes in is escaped; names of shared
 * shapes become links to their place on the page.
 */
export interface Schema {
  readonly $ref?: string;
  readonly type?: string | readonly string[];
  readonly format?: string;
  readonly description?: string;
  readonly enum?: readonly unknown[];
  readonly const?: unknown;
  readonly default?: unknown;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
  readonly additionalProperties?: boolean | Schema;
  readonly items?: Schema;
  readonly prefixItems?: readonly Schema[];
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
  readonly allOf?: readonly Schema[];
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly minLength?: number;
  readonly maxLength?: number;
  readonly minItems?: number;
  readonly maxItems?: number;
}

export const asText = (text: unknown): string =>
  String(text).replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

/** Anchor of a shared shape. */
export const anchorOf = (shape: string): string => `shape-${shape.replace(/\W+/g, '-')}`;

const FORMATS: Readonly<Record<string, string>> = {
  uuid: 'id (UUID)',
  'date-time': 'moment (ISO 8601 with offset)',
  date: 'date',
  email: 'e-mail address',
};
const TYPES: Readonly<Record<string, string>> = {
  string: 'text',
  integer: 'whole number',
  number: 'number',
  boolean: 'true or false',
  null: 'null',
  object: 'object',
  array: 'list',
};
/** Beyond so many choices they stand in a list of their own. */
const FEW = 4;

/** A value in words, on one line; what is inside an object is left to `partsOf`. */
export function wordsOf(schema: Schema): string {
  const { $ref } = schema;
  if ($ref !== undefined) {
    const name = $ref.split('/').at(-1)!;
    return `<a href="#${anchorOf(name)}">${asText(name)}</a>`;
  }
  if (schema.const !== undefined) return `<code>${asText(JSON.stringify(schema.const))}</code>`;
  if (schema.enum) return `one of ${schema.enum.map((one) => `<code>${asText(JSON.stringify(one))}</code>`).join(' ')}`;
  const choices = schema.anyOf ?? schema.oneOf;
  if (choices) {
    const words = [...new Set(choices.map(wordsOf))];
    return words.length > FEW ? `one of ${words.length} kinds` : words.join(' or ');
  }
  if (schema.allOf) return schema.allOf.map(wordsOf).join(' and ');
  if (Array.isArray(schema.type)) return schema.type.map((type: string) => wordsOf({ ...schema, type })).join(' or ');
  if (schema.type === 'array') {
    const bounds = range(schema.minItems, schema.maxItems);
    return `list of ${schema.items ? wordsOf(schema.items) : 'anything'}${bounds ? ` (${bounds})` : ''}`;
  }
  const type = schema.type as string | undefined;
  if (type === undefined) return 'anything';
  const word = (schema.format ? FORMATS[schema.format] : undefined) ?? TYPES[type] ?? type;
  const isText = type === 'string' && !(schema.format && FORMATS[schema.format]);
  const bounds = isText
    ? range(schema.minLength, schema.maxLength, ' characters')
    : type === 'integer' || type === 'number'
      ? range(schema.minimum ?? schema.exclusiveMinimum, schema.maximum)
      : '';
  return `${asText(word)}${bounds ? ` (${bounds})` : ''}`;
}

/** The safe whole numbers are a bound of the language, not of ours. */
const isBound = (n: number | undefined): n is number => n !== undefined && Math.abs(n) < Number.MAX_SAFE_INTEGER;

function range(from: number | undefined, to: number | undefined, of = ''): string {
  if (isBound(from) && isBound(to)) return from === to ? `${from}${of}` : `${from} to ${to}${of}`;
  if (isBound(to)) return `at most ${to}${of}`;
  return isBound(from) && from !== 0 ? `at least ${from}${of}` : '';
}

/** What stands inside a value, as nested lists; empty for a plain one. */
export function partsOf(schema: Schema): string {
  const rows = Object.entries(schema.properties ?? {}).map(([name, part]) => {
    const isNeeded = schema.required?.includes(name) === true && part.default === undefined;
    const usual = part.default === undefined ? '' : `, usually <code>${asText(JSON.stringify(part.default))}</code>`;
    const note = part.description ? `<p>${asText(part.description)}</p>` : '';
    return `<li><code class="name">${asText(name)}</code> ${wordsOf(part)}${isNeeded ? '' : ' <em>may be left out</em>'}${usual}${note}${partsOf(part)}</li>`;
  });
  if (rows.length > 0) return `<ul>${rows.join('')}</ul>`;
  if (schema.items) return partsOf(schema.items);
  if (typeof schema.additionalProperties === 'object')
    return `<ul><li><em>any name</em> ${wordsOf(schema.additionalProperties)}${partsOf(schema.additionalProperties)}</li></ul>`;
  const choices = schema.anyOf ?? schema.oneOf ?? schema.allOf ?? [];
  const inner = choices.map((one) => ({ words: wordsOf(one), parts: partsOf(one) }));
  if (inner.length > FEW || inner.filter(({ parts }) => parts !== '').length > 1)
    return `<ul>${inner.map(({ words, parts }) => `<li>${words}${parts}</li>`).join('')}</ul>`;
  return inner.map(({ parts }) => parts).join('');
}
