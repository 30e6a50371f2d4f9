/* Reads a code with the camera where the browser can; a hand scanner or typing does it everywhere else. */
"use strict";

(() => {
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices) return;

  const scanInto = async (field, box, button) => {
    const video = document.createElement("video");
    video.playsInline = true;
    video.muted = true;
    let stream;
    const stop = () => {
      if (stream) stream.getTracks().forEach((track) => track.stop());
      video.remove();
      button.hidden = false;
    };
    try {
      const detector = new BarcodeDetector({ formats: ["qr_code", "code_128"] });
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      video.srcObject = stream;
      box.append(video);
      button.hidden = true;
      await video.play();
      const look = async () => {
        if (!video.isConnected) return;
        const found = await detector.detect(video);
        if (found.length) {
          field.value = found[0].rawValue;
          stop();
          field.focus();
        } else {
          requestAnimationFrame(look);
        }
      };
      await look();
    } catch {
      stop();
      button.textContent = "The camera cannot be used here; type the code";
      button.disabled = true;
    }
  };

  for (const field of document.querySelectorAll("input[data-scan]")) {
    const box = document.createElement("div");
    box.className = "scan";
    const button = document.createElement("button");
    button.type = "button";
    button.className = "second";
    button.textContent = "Scan with the camera";
    button.addEventListener("click", () => scanInto(field, box, button));
    box.append(button);
    field.after(box);
  }
})();
