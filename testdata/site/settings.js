// @ts-check
// Where the club's book is kept, and what the club is called there. The same
// address stands in the head of each page.
export const service = "https://worms.example/";
export const club = "harbour";
