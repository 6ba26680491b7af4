# One image for every part of the service; the command says which (see docker-compose.yml). Nothing is fetched but what the lock file
# names, and what is left in the image is what runs: no compiler, no tests, no packages of development.
FROM node:22-slim AS manifests
WORKDIR /service
COPY package.json package-lock.json ./
COPY apps/api/package.json apps/api/
COPY apps/launch/package.json apps/launch/
COPY apps/web/package.json apps/web/
COPY apps/worker/package.json apps/worker/
COPY packages/contract/package.json packages/contract/
COPY packages/domain/package.json packages/domain/
COPY packages/platform/package.json packages/platform/
COPY packages/services/package.json packages/services/

FROM manifests AS build
ENV CHECKPOINT_DISABLE=1
RUN npm ci --no-audit --no-fund
COPY . .
RUN npx prisma generate && npm run bundle && npm run build

# The built-in database is left out: here PostgreSQL is a part of its own.
FROM manifests AS packages
RUN npm ci --omit=dev --omit=optional --no-audit --no-fund

FROM node:22-slim
WORKDIR /service
ENV NODE_ENV=production
COPY --from=packages /service ./
COPY --from=build /service/apps/launch/dist apps/launch/dist
COPY --from=build /service/apps/web/dist apps/web/dist
COPY apps/launch/src/part.mjs apps/launch/src/health.mjs apps/launch/src/
COPY prisma/migrations prisma/migrations
USER node
EXPOSE 4600
CMD ["node", "apps/launch/src/part.mjs", "api"]
