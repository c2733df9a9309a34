// SPDX-License-Identifier: MIT
// The statements of each step of the book's shape, NULL last.
#ifndef DW_BOOK_SCHEMA_H
#define DW_BOOK_SCHEMA_H

// Tables, what keeps evidence unchanged, indexes.
extern const char *const dw_schema_1[];
// The index for searching by words.
extern const char *const dw_schema_2[];
// Wording, set-up, paired screens, measuring on a photograph.
extern const char *const dw_schema_3[];
// Zone and turn of a photograph.
extern const char *const dw_schema_4[];
// What tells the book from every other.
extern const char *const dw_schema_5[];
// Models of decks.
extern const char *const dw_schema_6[];
// Money as EN 16931 speaks of it, decks that nobody fetched, searching in what was written.
extern const char *const dw_schema_7[];
extern const char *const dw_schema_8[];
// What an issued invoice was printed with, decks that came in together, planned work.
extern const char *const dw_schema_9[];
// Indexes for a large shop.
extern const char *const dw_schema_10[];

#endif
