import { Empty, Notice } from '../ui/panel.tsx';

/**
 * What waits in this browser for the network. The server knows nothing of it: the script fills the list in from what
 * the service worker keeps.
 */
export function WaitingPage() {
  return (
    <>
      <h1>Waiting to send</h1>
      <p>
        Stirs, readings and top-ups that you record without network stay on this device, with the time you
        made them. They are sent by themselves once the network is back, oldest first.
      </p>
      <noscript>
        <p>
          That needs scripts, which are switched off here: without network, write it down and record it later.
        </p>
      </noscript>
      <div id="waiting-not-here" hidden>
        <Notice title="Nothing can be kept here">
          <p>
            That needs an address that begins with https. Without network, write it down and record it later.
          </p>
        </Notice>
      </div>
      <div id="waiting-sign-in" hidden>
        <Notice title="You are signed out" tone="needs-reading">
          <p>
            <a href="/sign-in?next=%2Fwaiting">Sign in</a>, and what waits is sent.
          </p>
        </Notice>
      </div>
      <p class="row" id="waiting-send" hidden>
        <button class="do" type="button" data-waiting="send">
          Send now
        </button>
      </p>
      <ul class="waiting-list" id="waiting-list" />
      <div id="waiting-none" hidden>
        <Empty title="Nothing waits" />
      </div>
      <template id="waiting-one">
        <One />
      </template>
    </>
  );
}

const STATES = [
  ['waiting', 'Waiting'],
  ['sending', 'Sending'],
  ['asked', 'Asked back'],
  ['refused', 'Not recorded'],
  ['sent', 'Recorded'],
] as const;

function One() {
  return (
    <li class="panel">
      <p class="waiting-what">
        <a data-part="bucket" href="/wall">
          Bucket
        </a>{' '}
        <b data-part="what" /> <span data-part="when" />
      </p>
      <p class="waiting-state">
        {STATES.map(([state, words]) => (
          <b key={state} data-state={state}>
            {words}
          </b>
        ))}
      </p>
      <p data-part="reason" />
      <p class="soft" data-part="owner" />
      <p class="row">
        <button class="plain" type="button" data-part="confirm" data-waiting="confirm">
          Yes, record it
        </button>
        <button class="plain" type="button" data-part="again" data-waiting="again">
          Send again
        </button>
        <a class="plain" data-part="open" href="/wall">
          Open the form with what was typed
        </a>
        <a class="plain" data-part="see" href="/wall">
          See it
        </a>
        <button class="plain" type="button" data-part="drop" data-waiting="drop">
          Throw away
        </button>
      </p>
    </li>
  );
}
