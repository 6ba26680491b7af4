/** The large libraries of this package, for the launcher to load ahead of time. */
import '@fastify/compress';
import '@fastify/rate-limit';
import '@fastify/static';
import '@fastify/swagger';
import 'fastify';
import 'fastify-type-provider-zod';
