// Where the person is: the part of the address behind "#/". Going back is the browser's own.

/** @param {string} screen "scan", "rack/R7K2…" */
export function go(screen) {
  location.hash = `#/${screen}`;
}

/** @returns {{screen: string, id: string}} */
export function here() {
  const [screen = '', id = ''] = location.hash.replace(/^#\/?/, '').split('/');
  return { screen, id: decodeURIComponent(id) };
}
