// SPDX-License-Identifier: MIT
// Days and times as the papers print them, each thread in the language of the paper that it prints.
#ifndef DW_REPORT_DAY_H
#define DW_REPORT_DAY_H

#include "report/paper_words.h"

// From here on this thread prints days in WORDS, which must last as long; as the book writes them ("2026-11-25") for
// NULL. Returned: what it printed in before, to be put back.
const DwPaperWords *dw_day_use(const DwPaperWords *words);
// DATE, "2026-11-25", as it is printed: "25 Nov 2026", "25.11.2026"; anything else as it is. The caller frees it.
char *dw_day_print(const char *date);
// DATE and TIME, "14:16". The caller frees it.
char *dw_day_print_time(const char *date, const char *time);

#endif
