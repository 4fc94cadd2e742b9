// Lets this page open without a network. A browser allows that over https and on the machine itself only; elsewhere
// scans are kept as long as the page stays open, and the queue outlives it.

const rest = 2_000; // ms: what the page itself needs comes first

export const can = () => isSecureContext && 'serviceWorker' in navigator;

/** Whether a worker looks after this page now. */
export const works = () => can() && !!navigator.serviceWorker.controller;

export function register() {
  if (!can()) return;
  const opened = async () => (await navigator.serviceWorker.ready).active?.postMessage({ open: location.pathname });
  navigator.serviceWorker.addEventListener('controllerchange', () => void opened());
  setTimeout(() => {
    navigator.serviceWorker.register('/sw.js').then(opened, () => { /* no network, or forbidden: the page works without */ });
  }, rest);
}
