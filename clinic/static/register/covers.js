/* Shows the photo that was chosen under the boxes that cover its parts. Nothing is sent before the form is: without this
   script the boxes say their place in words, and cover the same parts. */
"use strict";

const coversPhoto = (form) => {
  const WIDEST = 960; // pixels: enough to see a face or a name
  const shown = form.querySelector("[data-shows]");

  const draws = async (file) => {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const share = Math.min(1, WIDEST / picture.width);
    shown.width = Math.round(picture.width * share);
    shown.height = Math.round(picture.height * share);
    shown.getContext("2d").drawImage(picture, 0, 0, shown.width, shown.height);
    picture.close();
  };

  const shows = async (file) => {
    shown.hidden = true;
    if (!file) return;
    try {
      await draws(file);
      shown.hidden = false;
    } catch {
      /* No picture that the browser can read: the register says so when it is sent. */
    }
  };

  form.querySelector("input[type=file]").addEventListener("change", (event) => shows(event.target.files[0]));
};

const coversPhotos = () => document.querySelectorAll("[data-covers]").forEach(coversPhoto);
coversPhotos();
document.addEventListener("drawn", coversPhotos);
