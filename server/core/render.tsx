import type { FastifyRequest } from 'fastify';
import { renderToString } from 'preact-render-to-string';
import { Layout, renderPage } from '../../views/ui/layout.tsx';
import type { Assets } from './assets.ts';
import { may, type Permission } from './policy.ts';
import type { PageContent, Renderer } from './routes.ts';

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

export function createRenderer(
  assets: Assets,
  sections: Section[],
): Renderer & { error(request: FastifyRequest, status: number, title: string, detail: string): string } {
  const document = (request: FastifyRequest, { title, section, body, idle }: PageContent) => {
    const { caller, studio, device } = request;
    return renderPage(
      <Layout
        title={title}
        section={section}
        person={caller}
        studio={studio}
        tablet={caller ? null : device}
        unread={caller?.unread ?? 0}
        sections={caller ? sections.filter((s) => may(caller.role, s.permission)) : device ? AT_TABLET : []}
        idle={idle}
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
      return document(request, { title, section: null, body });
    },
  };
}
