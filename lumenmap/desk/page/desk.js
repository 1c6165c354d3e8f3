// A page that proves the socket works: it shows what it is told, in words.
/** @param {string} id @param {string} text */
const say = (id, text) => { /** @type {HTMLElement} */ (document.getElementById(id)).textContent = text; };
const socket = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/socket`);
socket.binaryType = "arraybuffer";
let stretches = 0;
socket.addEventListener("message", event => {
  if (typeof event.data !== "string") {
    say("state", `${++stretches} stretches of light`);
    return;
  }
  /** @type {import("./wire").ServerMessage} */
  const message = JSON.parse(event.data);
  if (message.type === "session") say("title", message.house?.name ?? message.folder);
  if (message.type === "evening") say("tonight", message.tonight.sentence);
  if (message.type === "shows" && message.shows[0] && !stretches) {
    socket.send(JSON.stringify({ type: "open", file: message.shows[0].file }));
  }
});
socket.addEventListener("close", () => say("state", "The desk doesn't answer."));
