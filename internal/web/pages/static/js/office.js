// What a page of the office does beside what it shows.
export {};
