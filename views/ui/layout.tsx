import type { ComponentChildren, VNode } from 'preact';
import { renderToString } from 'preact-render-to-string';
import type { Role } from '../../server/core/policy.ts';
import type { Idle } from '../../server/core/routes.ts';
import { Flash, type FlashProps } from './panel.tsx';

interface Section {
  id: string;
  href: string;
  label: string;
}

export interface LayoutProps {
  title: string;
  /** Id of the section this page belongs to. */
  section: string | null;
  /** The sections this person may see: the header on a desktop, a bar at the bottom on a phone. */
  sections: Section[];
  /** Messages the person has not read yet: said beside their own section. */
  unread?: number;
  person: { name: string; role: Role } | null;
  /** The same for scripts, 'nobody', or '' where it is not known. */
  pageOf?: string;
  /** The paired tablet that shows this to whoever stands there. */
  tablet?: { name: string } | null;
  studio: { name: string } | null;
  assetUrl: (name: string) => string;
  flash?: FlashProps | null;
  idle?: Idle | undefined;
  /** Where it is told of changes while it is open: see `ui/live.ts`. */
  stream?: string | null;
  /** Stands above everything, such as "This studio is being set up". */
  banner?: ComponentChildren;
  /** The caution at the foot of the page. */
  caution?: string;
  children: ComponentChildren;
}

// Boost swaps the whole body, as a plain navigation would. A refused form keeps the address it stood at, since
// the address it was sent to may not answer a GET.
const boost = {
  'hx-boost:inherited': 'swap:outerSync',
  'hx-status:4xx:inherited': 'push:false',
  'hx-status:5xx:inherited': 'push:false',
};

const HTMX_CONFIG = JSON.stringify({
  includeIndicatorCSS: false,
  // What somebody unfolded stays so when a region is morphed.
  morphIgnore: ['data-htmx-powered', 'open'],
});

// Only its first connection needs a trigger: later ones are its own, and where the first failed it is tried again.
const streaming = {
  id: 'live',
  'hx-sse:close': 'ended',
  'hx-trigger': 'load, every 30s',
  'hx-swap': 'none',
  'hx-config': 'sse.reconnectMaxDelay:10000',
};

/** The whole document around a page. */
export function Layout(props: LayoutProps) {
  const {
    title,
    section,
    sections,
    unread = 0,
    person,
    pageOf = '',
    tablet,
    studio,
    assetUrl,
    idle,
    stream,
  } = props;
  return (
    <html lang="en">
      <head>
        <meta charset="utf-8" />
        <meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover" />
        <title>{`${title} · ${studio?.name ?? 'Wareboard'}`}</title>
        <meta name="color-scheme" content="light dark" />
        <meta name="theme-color" content="#fffdf8" media="(prefers-color-scheme: light)" />
        <meta name="theme-color" content="#24211d" media="(prefers-color-scheme: dark)" />
        <meta name="htmx-config" content={HTMX_CONFIG} />
        {idle && (
          <noscript>
            <meta http-equiv="refresh" content={`${idle.seconds};url=${idle.to}`} />
          </noscript>
        )}
        <link rel="icon" type="image/svg+xml" href={assetUrl('icon.svg')} />
        <link rel="stylesheet" href={assetUrl('wareboard.css')} />
        <script src={assetUrl('htmx.js')} defer />
        <script src={assetUrl('wareboard.js')} defer />
        <script src={assetUrl('offline.js')} defer />
      </head>
      <body
        {...boost}
        data-person={pageOf || undefined}
        hx-headers:inherited={person ? JSON.stringify({ 'Wareboard-Page-Of': pageOf }) : undefined}
      >
        <a class="skip" href="#main">
          Skip to the content
        </a>
        <header class="top">
          <a class="brand" href="/">
            Wareboard
          </a>
          {studio && <span class="where">{studio.name}</span>}
          {person && (
            <span class="who">
              <span class="hidden-text">Signed in as </span>
              <b>{person.name}</b>
              {person.role}
            </span>
          )}
          {tablet && (
            <span class="who">
              <b>{tablet.name}</b>
              wall tablet
            </span>
          )}
          <a class="waiting" id="waiting" href="/waiting" hidden>
            Waiting to send
          </a>
          {sections.length > 0 && (
            <nav class="sections" aria-label="Sections">
              {sections.map(({ id, href, label }) => (
                <a key={id} href={href} aria-current={id === section ? 'page' : undefined}>
                  {label}
                  {id === 'me' && <Unread count={unread} />}
                </a>
              ))}
            </nav>
          )}
        </header>
        {stream && (
          <>
            <div {...streaming} hx-sse:connect={stream} hidden />
            <p class="trouble" id="behind" role="status" hidden>
              Something here has changed meanwhile. <a href="?">Show it as it is now</a>: what you typed is
              not kept.
            </p>
          </>
        )}
        <p class="trouble" id="trouble" role="alert" hidden>
          No answer from the studio's server. Check the network and try again: what was recorded already will
          not be recorded twice.
        </p>
        {idle && !idle.stays && (
          <p class="trouble" id="idle" role="status" data-to={idle.to} hidden>
            Back to the wall in a few seconds. Touch the screen to stay.
          </p>
        )}
        <p class="trouble" id="seen" hidden />
        <p class="kept" id="kept" role="status" hidden />
        {props.banner && <aside class="banner">{props.banner}</aside>}
        <main id="main" tabIndex={-1}>
          {props.flash && <Flash {...props.flash} />}
          {props.children}
        </main>
        <footer class="foot">{props.caution && <p>{props.caution}</p>}</footer>
        <div class="hidden-text" id="announcer" role="status" hx-preserve="true" />
      </body>
    </html>
  );
}

/** How many messages nobody read yet, beside the name of a section; it asks for itself anew when one comes. */
export function Unread({ count }: { count: number }) {
  return (
    <span id="unread" {...asksAgain}>
      {count > 0 && (
        <span class="unread">
          <span aria-hidden="true">{count > 99 ? '99+' : count}</span>
          <span class="hidden-text">
            , {count} unread {count === 1 ? 'message' : 'messages'}
          </span>
        </span>
      )}
    </span>
  );
}

const asksAgain = {
  'hx-get': '/me/unread',
  'hx-trigger': 'changed-me from:#live',
  'hx-target': 'this',
  'hx-swap': 'outerMorph ignoreTitle:true',
};

export const renderPage = (page: VNode): string => `<!doctype html>${renderToString(page)}`;
