// Stands before a hub and, when told, serves a newer page than the hub has, or breaks off what it is asked for: the way
// to test an update without a second build, and a first visit that was cut short. It speaks TLS with the hub's own leaf, so phones see one hub at one address.

import { readFileSync } from 'node:fs';
import { createServer, request } from 'node:https';
import { gunzipSync } from 'node:zlib';

export class NewerPage {
  constructor(hub) {
    this.hub = hub;
    this.isNewer = false;
    /** Paths that are broken off, as by a wall between. @type {Set<string>} */
    this.cut = new Set();
    const text = readFileSync(`${hub.book}-hub.keys`, 'utf8');
    const certificates = text.match(/-----BEGIN CERTIFICATE-----[\s\S]*?-----END CERTIFICATE-----\n/g);
    const keys = text.match(/-----BEGIN (?:EC )?PRIVATE KEY-----[\s\S]*?-----END (?:EC )?PRIVATE KEY-----\n/g);
    const [rootCertificate, intermediate, leaf] = certificates;
    this.server = createServer({ key: keys.at(-1), cert: leaf + intermediate + rootCertificate }, (asked, answer) => this.pass(asked, answer));
  }

  async listen() {
    await new Promise((resolve) => this.server.listen(0, '127.0.0.1', resolve));
    this.url = `https://127.0.0.1:${this.server.address().port}`;
  }

  close() {
    this.server.closeAllConnections();
    this.server.close();
  }

  pass(asked, answer) {
    if (this.cut.has(asked.url)) return answer.destroy();
    const hub = new URL(this.hub.url);
    const headers = { ...asked.headers, host: hub.host };
    if (headers.origin) headers.origin = this.hub.url;
    delete headers['if-none-match'];
    const onward = request({ host: '127.0.0.1', port: hub.port, path: asked.url, method: asked.method, headers, rejectUnauthorized: false }, (reply) => {
      const change = this.isNewer && this.changes()[asked.url];
      if (!change) {
        answer.writeHead(reply.statusCode, reply.headers);
        return reply.pipe(answer);
      }
      const parts = [];
      reply.on('data', (part) => parts.push(part));
      reply.on('end', () => {
        const text = change(gunzipSync(Buffer.concat(parts)).toString('utf8'));
        const { 'content-encoding': _, 'content-length': __, etag: ___, ...kept } = reply.headers;
        answer.writeHead(200, kept);
        answer.end(text);
      });
    });
    onward.on('error', () => answer.destroy());
    asked.pipe(onward);
  }

  changes() {
    return {
      '/service_worker.js': (text) => text.replace(/rackside-[0-9a-f]+/, 'rackside-newer'),
      '/app.mjs': (text) => `${text}\ndocument.documentElement.dataset.page = 'newer';\n`,
    };
  }
}
