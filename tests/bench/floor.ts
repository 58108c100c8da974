/**
 * What no service of this kind can beat: bare Fastify, one select by primary key, and as many bytes as ours
 * answers. `/kept` also commits one row, for what the disk alone takes.
 */
import Fastify from 'fastify';
import postgres from 'postgres';

const { DATABASE_URL = '', PORT, PAGE_BYTES, ANSWER_BYTES } = process.env;
const page = 'x'.repeat(Number(PAGE_BYTES));
const answer = 'x'.repeat(Number(ANSWER_BYTES));
const sql = postgres(DATABASE_URL, { max: 10 });
const app = Fastify();

const select = () => sql`select code, name from buckets where id = ${1}`;

app.get('/page', async (_request, reply) => {
  await select();
  return reply.type('text/html').send(page);
});
app.post('/answer', async (_request, reply) => {
  await select();
  return reply.type('application/json').send(answer);
});
app.post('/kept', async (_request, reply) => {
  await select();
  await sql`insert into floor_rows (at) values (now())`;
  return reply.type('application/json').send(answer);
});

await app.listen({ host: '127.0.0.1', port: Number(PORT) });
process.on('SIGTERM', () => process.exit(0));
