// Moves a piece on the plan of a level: dragged, or with the arrow keys. The page of a piece does the same without it.

/** Where the centre of a piece is, mm as the plan counts them. @typedef {{ group: SVGGElement, x: number, y: number, isTurned: boolean }} Moved */

/** Less than this is a tap, px. */
const TAP = 6;
const STEP_MM = 5;
const FINE_MM = 1;

/** @type {(Moved & { pointer: number, start: PointerEvent, grabX: number, grabY: number, isMoving: boolean }) | null} */
let dragged = null;
let justDropped = false;
const nudged = /** @type {WeakMap<Element, Moved>} */ (new WeakMap());

/** @param {EventTarget | null} target @param {string} selector */
const closest = (target, selector) => (target instanceof Element ? target.closest(selector) : null);

/** @param {SVGGElement} group @returns {Moved} */
const placeOf = (group) => ({
  group,
  x: Number(group.dataset.x),
  y: Number(group.dataset.y),
  isTurned: group.dataset.turned === 'yes',
});

/** Where a point of the screen lies on a plan, mm; y upwards. @param {SVGSVGElement} plan @param {{ clientX: number, clientY: number }} at */
function onPlan(plan, { clientX, clientY }) {
  const matrix = plan.getScreenCTM();
  if (!matrix) return { x: 0, y: 0 };
  const { x, y } = new DOMPoint(clientX, clientY).matrixTransform(matrix.inverse());
  return { x, y: -y };
}

/** @param {Moved} moved */
function draw({ group, x, y, isTurned }) {
  const was = placeOf(group);
  const turn = isTurned === was.isTurned ? '' : ` rotate(90 ${was.x} ${-was.y})`;
  group.setAttribute('transform', `translate(${x - was.x} ${was.y - y})${turn}`);
}

/** Sends the form of the page. @param {Moved} moved @param {SVGSVGElement | null} plan */
function put({ group, x, y, isTurned }, plan = group.ownerSVGElement) {
  const form = document.getElementById('drag');
  const parts = (plan?.dataset.parts ?? '').split(' ');
  if (!(form instanceof HTMLFormElement) || !plan) return;
  const side = x < Number(plan.dataset.split) ? 'left' : 'right';
  const fields = {
    piece: group.dataset.piece,
    part: parts.includes(side) ? side : parts[0],
    level: plan.dataset.plan,
    xMm: Math.round(x * 10) / 10,
    yMm: Math.round(y * 10) / 10,
    turned: isTurned ? 'yes' : '',
  };
  for (const [name, value] of Object.entries(fields)) {
    /** @type {HTMLInputElement} */ (form.elements.namedItem(name)).value = String(value);
  }
  form.requestSubmit();
}

function letGo() {
  if (!dragged) return;
  dragged.group.removeAttribute('transform');
  dragged.group.classList.remove('is-moving');
  dragged = null;
}

document.addEventListener('pointerdown', (event) => {
  justDropped = false;
  const group = closest(event.target, 'svg[data-plan] [data-piece]');
  if (event.button !== 0 || !(group instanceof SVGGElement)) return;
  // A finger scrolls the page unless it lies on the piece that was picked.
  if (event.pointerType === 'touch' && !group.classList.contains('is-chosen')) return;
  const at = onPlan(/** @type {SVGSVGElement} */ (group.ownerSVGElement), event);
  const place = placeOf(group);
  dragged = {
    ...place,
    pointer: event.pointerId,
    start: event,
    grabX: at.x - place.x,
    grabY: at.y - place.y,
    isMoving: false,
  };
});

document.addEventListener('pointermove', (event) => {
  if (!dragged || event.pointerId !== dragged.pointer) return;
  const plan = dragged.group.ownerSVGElement;
  if (!plan) return;
  if (!dragged.isMoving) {
    if (Math.hypot(event.clientX - dragged.start.clientX, event.clientY - dragged.start.clientY) < TAP)
      return;
    dragged.isMoving = true;
    dragged.group.classList.add('is-moving');
    plan.setPointerCapture(event.pointerId);
  }
  const at = onPlan(plan, event);
  draw(Object.assign(dragged, { x: at.x - dragged.grabX, y: at.y - dragged.grabY }));
});

document.addEventListener('pointerup', (event) => {
  if (!dragged || event.pointerId !== dragged.pointer) return;
  if (!dragged.isMoving) return letGo();
  justDropped = true;
  const under = document
    .elementsFromPoint(event.clientX, event.clientY)
    .map((element) => closest(element, 'svg[data-plan]'))
    .find((plan) => plan instanceof SVGSVGElement);
  if (!under) return letGo();
  const at = onPlan(under, event);
  put({ ...dragged, x: at.x - dragged.grabX, y: at.y - dragged.grabY }, under);
  dragged = null;
});

document.addEventListener('pointercancel', letGo);

// A tap on a piece picks it, as its number in the list does.
document.addEventListener('click', (event) => {
  const group = closest(event.target, 'svg[data-plan] [data-piece]');
  if (!(group instanceof SVGGElement) || justDropped) return;
  const link = document.querySelector(`a.piece-number[href$="/pieces/${group.dataset.piece}"]`);
  if (link instanceof HTMLAnchorElement) link.click();
});

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

document.addEventListener('keydown', (event) => {
  if (event.key === 'Escape') letGo();
  // With these a key is meant for the browser.
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const button = closest(event.target, '[data-nudge]');
  if (!(button instanceof HTMLElement)) return;
  const group = document.querySelector(`svg[data-plan] [data-piece="${button.dataset.nudge}"]`);
  if (!(group instanceof SVGGElement)) return;
  const moved = nudged.get(button) ?? placeOf(group);
  const arrow = ARROWS[/** @type {keyof typeof ARROWS} */ (event.key)];
  if (arrow) {
    const step = event.shiftKey ? FINE_MM : STEP_MM;
    nudged.set(button, { ...moved, x: moved.x + step * arrow[0], y: moved.y + step * arrow[1] });
  } else if (event.key === 't' || event.key === 'T')
    nudged.set(button, { ...moved, isTurned: !moved.isTurned });
  else if (event.key === 'Escape') nudged.set(button, placeOf(group));
  else if (event.key === 'Enter' && nudged.has(button)) put(moved);
  else return;
  event.preventDefault();
  const { x, y, isTurned } = nudged.get(button) ?? moved;
  draw({ group, x, y, isTurned });
  const words = document.querySelector('[data-nudged]');
  if (words)
    words.textContent = `${Math.round(x)} mm right, ${Math.round(y)} mm back${isTurned ? ', turned' : ''}`;
});
