// SPDX-License-Identifier: MIT
#include "web/server/limit.h"

static DwLimitEntry *find(DwLimit *limit, uint32_t address)
{
    for (size_t i = 0; i < DW_LIMIT_ADDRESSES; i++)
        if (limit->entries[i].wrong && limit->entries[i].address == address)
            return &limit->entries[i];
    return NULL;
}

// A slot for ADDRESS: one that is free, else the one not used for longest.
static DwLimitEntry *add(DwLimit *limit, uint32_t address)
{
    DwLimitEntry *slot = &limit->entries[0];
    for (size_t i = 1; i < DW_LIMIT_ADDRESSES && slot->wrong; i++)
        if (!limit->entries[i].wrong || limit->entries[i].tried_at < slot->tried_at)
            slot = &limit->entries[i];
    *slot = (DwLimitEntry){.address = address};
    return slot;
}

static unsigned seconds_to_wait(const DwLimitEntry *entry, int64_t now)
{
    return entry->open_at > now ? (unsigned)(entry->open_at - now) : 0;
}

static void count(DwLimitEntry *entry, int64_t now, unsigned free_tries, unsigned longest)
{
    if (now - entry->tried_at > DW_LIMIT_FORGOTTEN)
        entry->wrong = 0;
    entry->wrong++;
    entry->tried_at = now;
    unsigned over = entry->wrong > free_tries ? entry->wrong - free_tries : 0;
    unsigned pause = over == 0 ? 0 : over > 10 ? longest : 1u << over;
    entry->open_at = now + (pause < longest ? pause : longest);
}

unsigned dw_limit_try(DwLimit *limit, uint32_t address, int64_t now)
{
    DwLimitEntry *entry = find(limit, address);
    unsigned own = entry ? seconds_to_wait(entry, now) : 0, all = seconds_to_wait(&limit->all, now);
    if (own || all)
        return own > all ? own : all;
    count(entry ? entry : add(limit, address), now, DW_LIMIT_FREE, DW_LIMIT_LONGEST);
    count(&limit->all, now, DW_LIMIT_FREE_ALL, DW_LIMIT_LONGEST_ALL);
    return 0;
}

void dw_limit_pardon(DwLimit *limit, uint32_t address)
{
    DwLimitEntry *entry = find(limit, address);
    if (entry)
        *entry = (DwLimitEntry){0};
    if (limit->all.wrong)
        limit->all.wrong--;
}
