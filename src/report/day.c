// SPDX-License-Identifier: MIT
#include "report/day.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/store/book.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static _Thread_local const DwPaperWords *words_of_thread;

const DwPaperWords *dw_day_use(const DwPaperWords *words)
{
    const DwPaperWords *before = words_of_thread;
    words_of_thread = words;
    return before;
}

// The name of MONTH (1 is the first) of the list that the words hold.
static char *name_of(int month)
{
    const char *at = dw_paper_words_say(words_of_thread, "numbers", "months");
    for (; month > 1 && *at; month--) {
        at += strcspn(at, " ");
        at += strspn(at, " ");
    }
    return dw_text_format("%.*s", (int)strcspn(at, " "), at);
}

char *dw_day_print(const char *date)
{
    int year, month, day;
    if (!words_of_thread || !dw_moment_is_date(date) || sscanf(date, "%d-%d-%d", &year, &month, &day) != 3)
        return dw_memory_text(date);
    char *name = name_of(month), *short_day = dw_text_format("%d", day), *y = dw_text_format("%04d", year);
    char *mm = dw_text_format("%02d", month), *dd = dw_text_format("%02d", day);
    char *text = dw_paper_words_fill(words_of_thread, "numbers", "day", "day", short_day, "dd", dd, "mm", mm, "name",
                                     name, "year", y, NULL);
    free(name);
    free(short_day);
    free(y);
    free(mm);
    free(dd);
    return text;
}

char *dw_day_print_time(const char *date, const char *time)
{
    char *day = dw_day_print(date);
    char *text = words_of_thread
                     ? dw_paper_words_fill(words_of_thread, "numbers", "moment", "day", day, "time", time, NULL)
                     : dw_text_format("%s, %s", day, time);
    free(day);
    return text;
}
