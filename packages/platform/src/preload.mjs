/** The large libraries of this package, for the launcher to load ahead of time. */
import '@prisma/adapter-pg';
import '@prisma/client/runtime/client';
import 'better-auth';
import 'bullmq';
import 'ioredis';
import 'pg';
import 'pino';
import 'zod';
