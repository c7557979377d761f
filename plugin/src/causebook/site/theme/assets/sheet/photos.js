/* A photo as the phone took it, made small, upright, and free of where it was taken: decoded by the browser's own
   decoder (HEIC where it has one), drawn anew, and saved as JPEG.  Nothing but the picture survives the drawing. */
(function () {
  "use strict";
  var LONGEST = 1600, QUALITY = 0.82;

  function decoded(file) {
    if (window.createImageBitmap) {
      return createImageBitmap(file, { imageOrientation: "from-image" }).catch(function () { return byElement(file); });
    }
    return byElement(file);
  }
  function byElement(file) {
    return new Promise(function (resolve, reject) {
      var picture = new Image(), address = URL.createObjectURL(file);
      picture.onload = function () { URL.revokeObjectURL(address); resolve(picture); };
      picture.onerror = function () { URL.revokeObjectURL(address); reject(new Error("undecoded")); };
      picture.src = address;
    });
  }
  function drawn(picture, longest) {
    var wide = picture.width, high = picture.height, scale = Math.min(1, longest / Math.max(wide, high));
    var canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(wide * scale));
    canvas.height = Math.max(1, Math.round(high * scale));
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    return canvas;
  }

  window.causebookSheetPhoto = {
    /* -> Promise of a JPEG as bytes; refused with a sentence for the person. */
    shrink: function (file) {
      return decoded(file).then(function (picture) {
        var canvas = drawn(picture, LONGEST);
        if (picture.close) { picture.close(); }
        return new Promise(function (resolve) { canvas.toBlob(resolve, "image/jpeg", QUALITY); });
      }).then(function (blob) { return blob.arrayBuffer(); }).then(function (buffer) { return new Uint8Array(buffer); })
        .catch(function () { throw new Error("This browser cannot read " + file.name + ". Set the camera to JPEG, or send it as a JPEG."); });
    },
    /* A small canvas of a saved picture, for the list. */
    thumbnail: function (bytes) {
      return decoded(new Blob([bytes], { type: "image/jpeg" })).then(function (picture) { return drawn(picture, 160); });
    }
  };
})();
