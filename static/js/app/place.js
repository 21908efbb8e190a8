/** Addresses and the screens they stand for, both ways; history is the browser's own. */

/**
 * Where somebody is. ``server``: a screen only the server can show.
 * @typedef {{ screen: "task", task: string, edge?: string, again?: boolean, kept?: string, what?: string, saved?: string }
 *   | { screen: "readout", task: string, n: number } | { screen: "next" } | { screen: "all", stage?: string }
 *   | { screen: "result" | "refused", key: string, task: string } | { screen: "way", seat: string, back: string }
 *   | { screen: "stop", seat: string } | { screen: "server", url: string }} Place
 */

/** @type {(base: string, href: string) => Place | null} null: not one of this job's phone screens */
export function placeOf(base, href) {
  const url = new URL(href, document.baseURI);
  if (url.origin !== location.origin) return null;
  if (url.pathname !== base && !url.pathname.startsWith(`${base}/`)) return null;
  const rest = decodeURIComponent(url.pathname.slice(base.length + 1));
  const query = url.searchParams;
  const address = url.pathname + url.search;
  if (!rest) return { screen: "next" };
  if (rest === "all") return { screen: "all", stage: url.hash.slice(1) };
  if (rest.startsWith("way/")) return { screen: "way", seat: rest.slice(4), back: query.get("back") ?? "" };
  if (/^(result|stop)\/\d+$|^swap\//.test(rest)) return { screen: "server", url: address };
  if (query.get("look") === "readout") return { screen: "readout", task: rest, n: Number(query.get("n")) || 0 };
  return { screen: "task", task: rest, edge: query.get("edge") ?? undefined, again: query.has("again") };
}

/** @type {(base: string, place: Place) => string} */
export function addressOf(base, place) {
  /** @type {(path: string) => string} */
  const at = (path) => `${base}/${path.split("/").map(encodeURIComponent).join("/")}`;
  switch (place.screen) {
    case "next": return base;
    case "all": return `${base}/all${place.stage ? `#${place.stage}` : ""}`;
    case "server": return place.url;
    case "way": return at(`way/${place.seat}`) + (place.back ? `?back=${encodeURIComponent(place.back)}` : "");
    // these two are this phone's own; a reload comes back to the task, and history says the rest
    case "stop": return at(`fasteners.mark:${place.seat}`);
    case "result": case "refused": return place.task ? at(place.task) : base;
    case "readout": return `${at(place.task)}?look=readout&n=${place.n}`;
    default: {
      const query = [place.edge && `edge=${place.edge}`, place.again && "again=1"].filter(Boolean);
      return at(place.task) + (query.length ? `?${query.join("&")}` : "");
    }
  }
}

/**
 * Links of this job's screens lead on without the network; Back and Forward too.
 * @param {string} base
 * @param {{ go: (place: Place, isBack: boolean) => void, lookAgain: (place: Place) => void }} on
 */
export function listenToPlaces(base, { go, lookAgain }) {
  document.addEventListener("click", (event) => {
    const link = event.target instanceof Element ? event.target.closest("a[href]") : null;
    if (!(link instanceof HTMLAnchorElement) || event.defaultPrevented) return;
    if (link.target || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    if (link.getAttribute("href")?.startsWith("#")) return;
    const place = placeOf(base, link.href);
    if (!place) return;
    event.preventDefault();
    if ("again" in link.dataset) lookAgain(place);
    else go(place, false);
  });
  addEventListener("popstate", (event) => {
    const place = event.state?.place ?? placeOf(base, location.href);
    if (place) go(place, true);
  });
}
