// SPDX-License-Identifier: MIT
#include "book/store/moment.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

// Whether TEXT follows PATTERN, in which '0' stands for any digit.
static bool follows(const char *text, const char *pattern)
{
    for (; *pattern; text++, pattern++)
        if (*pattern == '0' ? *text < '0' || *text > '9' : *text != *pattern)
            return false;
    return *text == '\0';
}

static int number_at(const char *text, int digits)
{
    int number = 0;
    for (int i = 0; i < digits; i++)
        number = number * 10 + (text[i] - '0');
    return number;
}

static struct tm broken_down(const char *text, bool with_clock)
{
    struct tm time = {
        .tm_year = number_at(text, 4) - 1900, .tm_mon = number_at(text + 5, 2) - 1, .tm_mday = number_at(text + 8, 2)};
    if (with_clock) {
        time.tm_hour = number_at(text + 11, 2);
        time.tm_min = number_at(text + 14, 2);
        time.tm_sec = number_at(text + 17, 2);
    }
    return time;
}

// A day or an hour that does not exist (30 February, 25 o'clock) comes back from
// the calendar as another one.
static bool exists(const char *text, bool with_clock)
{
    struct tm given = broken_down(text, with_clock), normal = given;
    timegm(&normal);
    return given.tm_year == normal.tm_year && given.tm_mon == normal.tm_mon && given.tm_mday == normal.tm_mday &&
           given.tm_hour == normal.tm_hour && given.tm_min == normal.tm_min && given.tm_sec == normal.tm_sec;
}

bool dw_moment_is_date(const char *text)
{
    return text && follows(text, "0000-00-00") && exists(text, false);
}

bool dw_moment_is_moment(const char *text)
{
    return text && follows(text, "0000-00-00T00:00:00Z") && exists(text, true);
}

void dw_moment_now(char moment[DW_MOMENT_SIZE])
{
    time_t now = time(NULL);
    struct tm utc;
    gmtime_r(&now, &utc);
    strftime(moment, DW_MOMENT_SIZE, "%Y-%m-%dT%H:%M:%SZ", &utc);
}

static struct tm on_the_clock(const char *moment)
{
    struct tm utc = broken_down(moment, true), local;
    time_t seconds = timegm(&utc);
    tzset(); // localtime_r alone need not notice a changed zone
    localtime_r(&seconds, &local);
    return local;
}

static void write_date(const struct tm *day, char date[DW_DATE_SIZE])
{
    date[0] = '\0';
    if (day->tm_year + 1900 >= 0 && day->tm_year + 1900 <= 9999)
        strftime(date, DW_DATE_SIZE, "%Y-%m-%d", day);
    // Years below 1000 come out short in some C libraries; such a date is no shop's.
    if (!follows(date, "0000-00-00"))
        date[0] = '\0';
}

void dw_moment_day(const char *moment, char date[DW_DATE_SIZE])
{
    date[0] = '\0';
    if (!dw_moment_is_moment(moment))
        return;
    struct tm local = on_the_clock(moment);
    write_date(&local, date);
}

void dw_moment_clock(const char *moment, char clock[DW_CLOCK_SIZE])
{
    clock[0] = '\0';
    if (!dw_moment_is_moment(moment))
        return;
    struct tm local = on_the_clock(moment);
    strftime(clock, DW_CLOCK_SIZE, "%Y-%m-%dT%H:%M", &local);
}

void dw_moment_of_clock(const char *clock, char moment[DW_MOMENT_SIZE])
{
    moment[0] = '\0';
    if (!clock || !follows(clock, "0000-00-00T00:00"))
        return;
    char whole[DW_MOMENT_SIZE];
    snprintf(whole, sizeof whole, "%.16s:00Z", clock);
    if (!exists(whole, true))
        return;
    struct tm local = broken_down(whole, true), utc;
    local.tm_isdst = -1;
    tzset();
    time_t seconds = mktime(&local);
    gmtime_r(&seconds, &utc);
    strftime(moment, DW_MOMENT_SIZE, "%Y-%m-%dT%H:%M:%SZ", &utc);
}

void dw_moment_add_days(const char *date, long days, char result[DW_DATE_SIZE])
{
    result[0] = '\0';
    if (!dw_moment_is_date(date) || days > 4000000 || days < -4000000)
        return;
    struct tm day = broken_down(date, false);
    day.tm_mday += (int)days;
    timegm(&day);
    write_date(&day, result);
}

long dw_moment_days_between(const char *from, const char *to)
{
    if (!dw_moment_is_date(from) || !dw_moment_is_date(to))
        return 0;
    struct tm first = broken_down(from, false), last = broken_down(to, false);
    return (long)((timegm(&last) - timegm(&first)) / 86400);
}
