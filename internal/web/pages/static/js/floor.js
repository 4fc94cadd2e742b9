// A page of the floor: what it does beside what it shows.
export {};
