/**
 * The API reference as a page for people: made from the same document that programs read, so that it cannot say anything else. Plain
 * HTML without a script; long parts are folded.
 */
import { type EndpointDescription, endpoints, ORGANISATION_HEADER } from '@heatround/contract';
import { PROBLEM_CODES, rolesThatMay } from '@heatround/domain';
import { HTTP } from '../plugins/problem-json.ts';
import { anchorOf, asText, partsOf, type Schema, wordsOf } from './shape.ts';

interface Operation {
  readonly operationId?: string;
  readonly summary?: string;
  readonly tags?: readonly string[];
  readonly parameters?: readonly { in: string; name: string; required?: boolean; description?: string; schema?: Schema }[];
  readonly requestBody?: { readonly content?: Readonly<Record<string, { schema?: Schema }>> };
  readonly responses?: Readonly<
    Record<string, { description?: string; content?: Readonly<Record<string, { schema?: Schema }>> }>
  >;
}
/** As much of an OpenAPI document as the page reads. */
export interface ApiDocument {
  readonly paths?: Readonly<Record<string, Readonly<Record<string, Operation>>>>;
  readonly components?: { readonly schemas?: Readonly<Record<string, Schema>> };
}

interface Call {
  readonly method: string;
  readonly path: string;
  readonly operation: Operation;
  readonly area: string;
  readonly id: string;
}

/** The page. */
export function referencePage(document: ApiDocument): string {
  const calls = Object.entries(document.paths ?? {}).flatMap(([path, methods]) =>
    Object.entries(methods).map(([method, operation]): Call => {
      const area = operation.tags?.[0] ?? 'Further';
      return {
        method: method.toUpperCase(),
        path,
        operation,
        area,
        id: operation.operationId ?? `${method}${path.replace(/\W+/g, '-')}`,
      };
    }),
  );
  // What is not for people's work comes last.
  calls.sort((one, other) => Number(one.operation.operationId === undefined) - Number(other.operation.operationId === undefined));
  const areas = [...new Set(calls.map(({ area }) => area))];
  const shapes = Object.entries(document.components?.schemas ?? {}).filter(([name]) => isRead(name, document));
  return `<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Heatround API reference</title>
<link rel="icon" href="/mark.svg" type="image/svg+xml">
<link rel="stylesheet" href="/api/reference.css">
</head>
<body>
<a class="skip" href="#calls">To the calls</a>
<header>
<h1>${calls.length} calls, the same for everybody.</h1>
<p>The client has no others. Programs read this page as <a href="/api/openapi.json">an OpenAPI document</a>.</p>
</header>
<nav aria-label="Areas"><ul>
${areas.map((area) => `<li><a href="#${areaAnchor(area)}">${asText(area)}</a></li>`).join('\n')}
<li><a href="#problems">Problems</a></li>
<li><a href="#shapes">Shapes</a></li>
</ul></nav>
<main id="calls">
<section aria-labelledby="how">
<h2 id="how">How to call</h2>
<p>Sign in with <code>POST /api/sign-in</code> and send the cookie it gives with every further call. Name the organisation in the header <code>${asText(ORGANISATION_HEADER)}</code>; who belongs to just one may leave it out. Bodies are JSON. Moments are ISO 8601 with offset, ids are UUIDs. What you create may carry an id of your own: sending it again is safe.</p>
<p>A browser may change things from the service’s own pages only.</p>
</section>
${areas
  .map((area) =>
    areaPart(
      area,
      calls.filter((call) => call.area === area),
    ),
  )
  .join('\n')}
${problemsPart()}
<section aria-labelledby="shapes">
<h2 id="shapes">Shapes</h2>
<p>What several calls have in common.</p>
${shapes.map(([name, schema]) => `<article id="${anchorOf(name)}"><h3>${asText(name)}</h3><p>${wordsOf(schema)}</p>${partsOf(schema)}</article>`).join('\n')}
</section>
</main>
</body>
</html>
`;
}

/** Whether anything on the page leads to a shared shape. */
const isRead = (name: string, document: ApiDocument): boolean =>
  JSON.stringify(document).includes(`"#/components/schemas/${name}"`);

const areaAnchor = (area: string): string => `area-${area.toLowerCase().replace(/\W+/g, '-')}`;

function areaPart(area: string, calls: readonly Call[]): string {
  const id = areaAnchor(area);
  return `<section aria-labelledby="${id}">\n<h2 id="${id}">${asText(area)}</h2>\n${calls.map(callPart).join('\n')}\n</section>`;
}

function callPart({ method, path, operation, id }: Call): string {
  const parameters = operation.parameters ?? [];
  const body = operation.requestBody?.content?.['application/json']?.schema;
  const answers = Object.entries(operation.responses ?? {});
  return `<article id="${asText(id)}">
<h3><span class="method">${asText(method)}</span> <code>${asText(path).replaceAll('/', '/<wbr>')}</code></h3>
<p>${asText(operation.summary ?? '')}</p>
<p class="who"><strong>Who:</strong> ${asText(whoMay(operation.operationId))}</p>
${parameters.length === 0 ? '' : `<h4>Parameters</h4>\n<ul>${parameters.map(({ name, in: place, required, schema = {}, description }) => `<li><code class="name">${asText(name)}</code> in the ${asText(place)}, ${wordsOf(schema)}${required ? '' : ' <em>may be left out</em>'}${description ? `<p>${asText(description)}</p>` : ''}</li>`).join('')}</ul>`}
${body ? folded(`Body${plainKind(body)}`, body) : ''}
${answers.map(([status, { content }]) => answerPart(status, content?.['application/json']?.schema)).join('\n')}
</article>`;
}

function answerPart(status: string, schema: Schema | undefined): string {
  if (status === '204' || schema?.type === 'null') return `<p class="answer">Answer ${asText(status)}, without a body.</p>`;
  if (schema === undefined) return `<p class="answer">Answer ${asText(status)}: a file to save.</p>`;
  return folded(`Answer ${asText(status)}${plainKind(schema)}`, schema);
}

/** Inside a summary no link may stand; that an object is an object is seen. */
function plainKind(schema: Schema): string {
  const words = wordsOf(schema).replace(/<a [^>]*>|<\/a>/g, '');
  return words === 'object' ? '' : `: ${words}`;
}

function folded(title: string, schema: Schema): string {
  const inside = partsOf(schema) || `<p>${wordsOf(schema)}</p>`;
  return `<details><summary>${title}</summary>${inside}</details>`;
}

function whoMay(operationId: string | undefined): string {
  const described = (Object.values(endpoints) as EndpointDescription[]).find(({ name }) => name === operationId);
  if (!described || described.access === 'public') return 'anybody, without signing in.';
  if (described.access === 'signed-in') return 'everybody who is signed in.';
  return `${rolesThatMay(described.access)
    .map((role) => role.replace('-', ' '))
    .join(', ')}.`;
}

function problemsPart(): string {
  const rows = PROBLEM_CODES.map((code) => {
    const { status, title, remedy } = HTTP[code];
    return `<li id="problem-${code}"><code class="name">/problems/${code}</code> <strong>${status} ${asText(title)}.</strong> ${asText(remedy)}</li>`;
  });
  return `<section aria-labelledby="problems">
<h2 id="problems">Problems</h2>
<p>Every call may answer with one of these instead, as a problem document (RFC 9457, <code>application/problem+json</code>) with <code>type</code>, <code>title</code>, <code>status</code>, <code>detail</code>, <code>instance</code> and <code>requestId</code>; <code>errors</code> points at what was not as expected. What is missing and what belongs to others looks the same: 404.</p>
<ul>${rows.join('\n')}</ul>
</section>`;
}
