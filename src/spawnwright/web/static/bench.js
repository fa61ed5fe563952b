// Comfort for pages that work without it.
export {};
