// Lets the pages open without a connection: gives what it has, and fetches anew for
// the next time. It keeps the site's own files only, and nothing of the book.
const name = "lumbricary-site-1";
const files = ["keeper.html", "icon.svg", "club.css", "settings.js", "client.js", "page.js", "session.js", "records.js", "book.js", "forms.js", "timeline.js", "keeper.js"];

addEventListener("install", (event) => event.waitUntil(caches.open(name).then((cache) => cache.addAll(files)).then(() => skipWaiting())));
addEventListener("activate", (event) => event.waitUntil(clients.claim()));
addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  event.respondWith(
    caches.open(name).then(async (cache) => {
      const kept = await cache.match(event.request, { ignoreSearch: true });
      const fresh = fetch(event.request, { cache: "no-cache" }).then((answer) => {
        if (answer.ok && kept) event.waitUntil(cache.put(new URL(url.pathname, location.origin), answer.clone()));
        return answer;
      });
      if (kept) event.waitUntil(fresh.catch(() => {}));
      return kept ?? fresh;
    }),
  );
});
