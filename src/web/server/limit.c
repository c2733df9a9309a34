// SPDX-License-Identifier: MIT
#include "web/server/limit.h"

static DwTryLimitEntry *find(DwTryLimit *limit, uint64_t who)
{
    for (size_t i = 0; i < DW_LIMIT_KNOWN; i++)
        if (limit->entries[i].wrong && limit->entries[i].who == who)
            return &limit->entries[i];
    return NULL;
}

// A slot for WHO: one that is free, else the one not used for longest.
static DwTryLimitEntry *add(DwTryLimit *limit, uint64_t who)
{
    DwTryLimitEntry *slot = &limit->entries[0];
    for (size_t i = 1; i < DW_LIMIT_KNOWN && slot->wrong; i++)
        if (!limit->entries[i].wrong || limit->entries[i].tried_at < slot->tried_at)
            slot = &limit->entries[i];
    *slot = (DwTryLimitEntry){.who = who};
    return slot;
}

static void count(DwTryLimitEntry *entry, int64_t now, unsigned free_tries)
{
    if (now - entry->tried_at > DW_LIMIT_FORGOTTEN)
        entry->wrong = 0;
    entry->wrong++;
    entry->tried_at = now;
    unsigned over = entry->wrong > free_tries ? entry->wrong - free_tries : 0;
    unsigned pause = over == 0 ? 0 : over > 10 ? DW_LIMIT_LONGEST : 1u << over;
    entry->open_at = now + (pause < DW_LIMIT_LONGEST ? pause : DW_LIMIT_LONGEST);
}

unsigned dw_limit_try(DwTryLimit *limit, uint64_t who, int64_t now)
{
    DwTryLimitEntry *entry = find(limit, who);
    if (entry && entry->open_at > now)
        return (unsigned)(entry->open_at - now);
    if (now - limit->tried_at > DW_LIMIT_FORGOTTEN)
        limit->wrong = 0;
    limit->wrong++;
    limit->tried_at = now;
    count(entry ? entry : add(limit, who), now, limit->wrong > DW_LIMIT_ALARM ? DW_LIMIT_FREE_ALARM : DW_LIMIT_FREE);
    return 0;
}

void dw_limit_pardon(DwTryLimit *limit, uint64_t who)
{
    DwTryLimitEntry *entry = find(limit, who);
    if (entry)
        *entry = (DwTryLimitEntry){0};
    if (limit->wrong)
        limit->wrong--;
}
