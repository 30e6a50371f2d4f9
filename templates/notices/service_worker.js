/* Shows what the push service brings while no page is open. */
"use strict";

self.addEventListener("push", (event) => {
  let told = { title: "Curdward", text: "", path: "/", tag: "" };
  try {
    told = { ...told, ...event.data.json() };
  } catch {
    /* a push without readable data still says that there is something to see */
  }
  event.waitUntil(
    self.registration.showNotification(told.title, { body: told.text, tag: told.tag, data: { path: told.path } }),
  );
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(self.clients.openWindow(event.notification.data.path || "/"));
});
