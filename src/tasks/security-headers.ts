import type { Connect, Plugin } from 'vite';

/**
 * The policy of every response: nothing but our own origin, no eval, no inline script. `wasm-unsafe-eval` compiles the
 * engine; `blob:` workers carry this policy into the engine's own worker; charts set inline styles.
 */
export const POLICY = [
  "default-src 'none'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "worker-src 'self' blob:",
  "connect-src 'self'",
  "style-src 'self' 'unsafe-inline'",
  "img-src 'self' data: blob:",
  "font-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ');

/** The part of the policy that a `<meta>` may carry, for hosts that set no headers. */
export const META_POLICY = POLICY.replace(/; frame-ancestors 'none'/, '');

const HEADERS: Record<string, string> = {
  'Content-Security-Policy': POLICY,
  'X-Content-Type-Options': 'nosniff',
  'Referrer-Policy': 'no-referrer',
  'Cross-Origin-Opener-Policy': 'same-origin',
};

const setHeaders: Connect.NextHandleFunction = (_request, response, next) => {
  for (const [name, value] of Object.entries(HEADERS)) response.setHeader(name, value);
  next();
};

/** Sets the headers when the built pages are served, and writes the policy into the document itself. */
export function securityHeaders(): Plugin {
  return {
    name: 'growout-security-headers',
    configurePreviewServer(server) {
      server.middlewares.use(setHeaders);
    },
    transformIndexHtml: {
      order: 'post',
      handler(html, context) {
        // The development server injects inline script for reloading; the built page has none.
        if (context.server) return html;
        return html.replace(
          '<head>',
          `<head>\n    <meta http-equiv="Content-Security-Policy" content="${META_POLICY}" />`,
        );
      },
    },
  };
}
