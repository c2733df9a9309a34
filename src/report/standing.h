// SPDX-License-Identifier: MIT
// What stands of all that was measured on a job: of several readings of one thing the last as left, and what was
// noted as a setting since; and which of it is beyond its limit.
#ifndef DW_REPORT_STANDING_H
#define DW_REPORT_STANDING_H

#include "book/job/verdict.h"
#include "report/dossier.h"

// Readings of one plain name are one thing. Returned: the key by which the words know it. The caller frees it.
char *dw_standing_thing(const DwDossier *dossier, const char *key);
bool dw_standing_is_number(const DwReading *reading);
// Of the pairs of THING the one that was measured last as left; without any the first as received. NULL for none.
const DwPair *dw_standing_pair(const DwDossier *dossier, const char *thing);
// The setting of THING that was noted as left, when it is newer than PAIR's reading; else NULL.
const DwReading *dw_standing_setting(const DwDossier *dossier, const char *thing, const DwPair *pair);

// The next reading that stands, from *INDEX on (0 at first); NULL past the last.
const DwReading *dw_standing_next(const DwDossier *dossier, size_t *index);
// The worst reading that stands beyond its limit and counts for ASPECT, or NULL.
const DwReading *dw_standing_beyond(const DwDossier *dossier, DwAspect aspect);
// Whether a reading that counts for ASPECT was held against a limit.
bool dw_standing_judged(const DwDossier *dossier, DwAspect aspect);
// The plain names of all that stands beyond its limit, "Speed and Wobble once a turn"; "" for none. The caller frees
// it.
char *dw_standing_all_beyond(const DwDossier *dossier);
// What a customer calls the reading or setting KEY, else its LABEL. The caller frees it.
char *dw_standing_name(const DwDossier *dossier, const char *key, const char *label);
// The same of READING, which stands, with the name of its arm where a deck carries several. The caller frees it.
char *dw_standing_reading_name(const DwDossier *dossier, const DwReading *reading);
// What the proof calls it: by the words, else in another language than English as the customer calls it, else its
// LABEL. Valid as long as the dossier's words and LABEL.
const char *dw_standing_proof_name(const DwDossier *dossier, const char *key, const char *label);
// What LABEL of the bench, a sheet's title or a chart's word, is called on a paper: itself where there is no other
// word.
const char *dw_standing_label(const DwDossier *dossier, const char *label);

#endif
