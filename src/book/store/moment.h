// SPDX-License-Identifier: MIT
// Days and moments as the book keeps them: text that sorts, that a person can
// read in an export, and that no time zone can shift unseen.
#ifndef DW_BOOK_MOMENT_H
#define DW_BOOK_MOMENT_H

#include <stdbool.h>

// "2026-11-25" (the shop's own calendar) and "2026-11-25T14:16:41Z" (UTC), with their zero byte.
enum { DW_DATE_SIZE = 11, DW_MOMENT_SIZE = 21, DW_CLOCK_SIZE = 17 };

// Whether TEXT is a date ("2026-03-01") that exists, or a moment ("2026-03-01T10:00:00Z").
bool dw_moment_is_date(const char *text);
bool dw_moment_is_moment(const char *text);
// The present moment from the system's clock.
void dw_moment_now(char moment[DW_MOMENT_SIZE]);
// The day of MOMENT on the shop's calendar (the system's time zone). "" when MOMENT is none.
void dw_moment_day(const char *moment, char date[DW_DATE_SIZE]);
// MOMENT on the shop's clock, to the minute, as a form shows it: "2026-11-25T15:16". "" when it is none.
void dw_moment_clock(const char *moment, char clock[DW_CLOCK_SIZE]);
// The moment that the shop's clock showed as CLOCK. "" when it is none.
void dw_moment_of_clock(const char *clock, char moment[DW_MOMENT_SIZE]);
// DATE moved by DAYS, which may be negative. "" when DATE is none or the result is beyond year 9999.
void dw_moment_add_days(const char *date, long days, char result[DW_DATE_SIZE]);
// Whole days from one date to another; 0 when either is none.
long dw_moment_days_between(const char *from, const char *to);

#endif
