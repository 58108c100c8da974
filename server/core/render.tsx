import type { FastifyRequest } from 'fastify';
import { renderToString } from 'preact-render-to-string';
import { Layout, renderPage } from '../../views/ui/layout.tsx';
import type { Assets } from './assets.ts';
import { personMark } from './late.ts';
import { may, type Permission } from './policy.ts';
import type { PageContent, Renderer } from './routes.ts';
import type { Caller } from './session.ts';

/** A place in the bar at the bottom of a phone and the top of a desktop, shown to whoever may go there. */
export interface Section {
  id: string;
  href: string;
  label: string;
  permission: Permission;
}

/** Where a tablet leads with nobody signed in on it. */
const AT_TABLET: Omit<Section, 'permission'>[] = [
  { id: 'wall', href: '/tablet', label: 'Glaze wall' },
  { id: 'sign-in', href: '/sign-in', label: 'Sign in' },
];

const OwesFactor = () => (
  <>
    You see this as a member does: <a href="/me/second-factor">set up your second factor</a> to go on.
  </>
);

/** For whom a page is, as the script and the service worker read it: views/offline/rules.js. */
const pageMark = ({ id, units, name }: Caller): string =>
  `${personMark(id)}:${units}:${encodeURIComponent(name)}`;

/** Where a page is told of changes, from how they stood before anything was read for it. */
function streamAddress({ caller, mark }: FastifyRequest, watches: string[]): string {
  const query = new URLSearchParams(watches.map((word) => ['watch', word]));
  if (mark !== null) query.set('since', mark);
  return `${caller ? '/live' : '/tablet/live'}?${query}`;
}

export function createRenderer(
  assets: Assets,
  sections: Section[],
): Renderer & { error(request: FastifyRequest, status: number, title: string, detail: string): string } {
  const document = (
    request: FastifyRequest,
    { title, section, body, idle, watches }: PageContent,
    pageOf = request.caller ? pageMark(request.caller) : 'nobody',
  ) => {
    const { caller, studio, device } = request;
    return renderPage(
      <Layout
        title={title}
        section={section}
        person={caller}
        pageOf={pageOf}
        studio={studio}
        tablet={caller ? null : device}
        unread={caller?.unread ?? 0}
        sections={caller ? sections.filter((s) => may(caller.role, s.permission)) : device ? AT_TABLET : []}
        idle={idle}
        stream={watches ? streamAddress(request, watches) : null}
        banner={caller?.owesFactor && <OwesFactor />}
        assetUrl={assets.url}
      >
        {body}
      </Layout>,
    );
  };
  const fragment = ({ title, body }: PageContent) =>
    renderToString(
      <>
        <title>{`${title} · Wareboard`}</title>
        {body}
      </>,
    );
  return {
    document,
    fragment,
    error(request, status, title, detail) {
      const body = (
        <>
          <h1>{title}</h1>
          <p>{detail}</p>
          <p>
            <a href="/">Back to the first page</a>
          </p>
          <p class="soft">
            Request {request.id}, status {status}
          </p>
        </>
      );
      // It may have come before anybody was looked up.
      return document(request, { title, section: null, body }, request.caller ? undefined : '');
    },
  };
}
