/** Defines the element `<keyproof-lesson>`, as `dist/keyproof-lesson.js` does. */
export {};
