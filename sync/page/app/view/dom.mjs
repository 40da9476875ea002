// The few lines that stand in for a framework.

/**
 * What `h` makes: whichever element, with the members that the views ask of inputs, buttons and links.
 * @typedef {HTMLElement & {value: string, disabled: boolean, href: string}} Made
 */

/**
 * An element: h('button.big', {onclick}, 'text', child …). Children may be texts, elements, lists, or nothing.
 * @param {string} tag with classes behind dots @param {object | null} [props] @returns {Made}
 */
export function h(tag, props, ...children) {
  const [name, ...classes] = tag.split('.');
  const element = /** @type {Made} */ (document.createElement(name));
  if (classes.length) element.className = classes.join(' ');
  for (const [key, value] of Object.entries(props ?? {})) {
    if (value === undefined || value === false || value === null) continue;
    if (key.startsWith('on')) element.addEventListener(key.slice(2), value);
    else if (key in element && key !== 'list' && !key.includes('-')) element[key] = value;
    else element.setAttribute(key, value === true ? '' : String(value));
  }
  element.append(...children.flat(Infinity).filter((child) => child !== undefined && child !== null && child !== false));
  return element;
}

const kSvg = 'http://www.w3.org/2000/svg';

const kPaths = {
  scan: 'M4 8V5a1 1 0 0 1 1-1h3M16 4h3a1 1 0 0 1 1 1v3M20 16v3a1 1 0 0 1-1 1h-3M8 20H5a1 1 0 0 1-1-1v-3M4 12h16',
  today: 'M5 6h14M5 12h14M5 18h9M18 16l1.5 2L22 15',
  racks: 'M4 4h16v4H4zM4 10h16v4H4zM4 16h16v4H4zM10 5.6h4M10 11.6h4M10 17.6h4',
  questions: 'M9 9a3 3 0 1 1 4.4 2.6c-.9.5-1.4 1.1-1.4 2.2M12 17.6v.1M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18',
  more: 'M5.5 10.5a1.5 1.5 0 1 0 0 3 1.5 1.5 0 0 0 0-3M12 10.5a1.5 1.5 0 1 0 0 3 1.5 1.5 0 0 0 0-3M18.5 10.5a1.5 1.5 0 1 0 0 3 1.5 1.5 0 0 0 0-3',
  torch: 'M8 3h8l-1.5 6v10a2 2 0 0 1-2 2h-1a2 2 0 0 1-2-2V9zM12 12v2',
  desk: 'M3 5h18v11H3zM9 20h6M12 16v4',
  keys: 'M4 6h16v12H4zM7.5 10h.01M12 10h.01M16.5 10h.01M8 14h8',
  search: 'M11 5a6 6 0 1 0 0 12 6 6 0 0 0 0-12M15.5 15.5 20 20',
  photo: 'M4 8h3l2-3h6l2 3h3v11H4zM12 10a3.5 3.5 0 1 0 0 7 3.5 3.5 0 0 0 0-7',
  round: 'M20 12a8 8 0 1 1-2.3-5.6M20 4v4h-4',
  clock: 'M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18M12 7v5l3.5 2',
  undo: 'M9 8H4V3M4.5 8A8.5 8.5 0 1 1 4 14',
  close: 'M6 6l12 12M18 6 6 18',
  back: 'M15 5l-7 7 7 7',
  warning: 'M12 4 2.8 20h18.4zM12 10v4.5M12 17.4v.1',
  check: 'M4.5 12.5 10 18 20 7',
  flag: 'M6 21V4h11l-2 4 2 4H6',
  share: 'M12 15V4M8 7.5 12 4l4 3.5M6 12v7h12v-7',
};

/** @param {string} name of kPaths */
export function icon(name) {
  const svg = document.createElementNS(kSvg, 'svg');
  for (const [key, value] of Object.entries({ viewBox: '0 0 24 24', class: 'icon', 'aria-hidden': 'true' })) svg.setAttribute(key, value);
  const path = document.createElementNS(kSvg, 'path');
  path.setAttribute('d', kPaths[name]);
  svg.append(path);
  return svg;
}
