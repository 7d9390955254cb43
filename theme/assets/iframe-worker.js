/* A page opened from a disk (file://) may not start a worker, and search runs in one. This runs the
   worker's script in a hidden frame instead. It writes no script into the page, so that the page's
   content security policy can forbid written-in scripts. Elsewhere it does nothing. */
"use strict";
if (location.protocol === "file:") {
  window.Worker = class extends EventTarget {
    constructor(url) {
      super();
      const frame = document.createElement("iframe");
      frame.hidden = true;
      frame.title = "search";
      document.body.appendChild(frame);
      const inside = frame.contentWindow;
      const load = (source) =>
        new Promise((done, failed) => {
          const script = frame.contentDocument.createElement("script");
          script.src = source;
          script.onload = done;
          script.onerror = failed;
          frame.contentDocument.body.appendChild(script);
        });
      inside.postMessage = (data) => this.dispatchEvent(new MessageEvent("message", { data }));
      inside.importScripts = (...sources) =>
        sources.reduce((before, source) => before.then(() => load(source)), Promise.resolve());
      this.frame = frame;
      this.ready = load(new URL(url, location.href).href);
    }
    postMessage(data) {
      this.ready.then(() => {
        const inside = this.frame.contentWindow;
        inside.dispatchEvent(new MessageEvent("message", { data }));
      });
    }
    terminate() {
      this.frame.remove();
    }
  };
}
