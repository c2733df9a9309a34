// SPDX-License-Identifier: MIT
// The live inputs of the bench, which all devices look at: one or two at a time, each at a
// place of its own with its session, what it was started with, and its state as JSON, made
// once for all who ask; and the one monitor of what can be listened to.
#ifndef DW_WEB_LIVE_ROOM_H
#define DW_WEB_LIVE_ROOM_H

#include "procedure/live/live_session.h"
#include "procedure/registry/procedure.h"

enum { DW_LIVE_PLACES = 2 }; // counted from 0; pages call the second one 2

typedef struct DwLiveInputs DwLiveInputs;
typedef struct DwLiveRoom DwLiveRoom;

// A room in which nothing is captured yet. The caller frees it with dw_live_room_free().
DwLiveRoom *dw_live_room_new(void);
// No one may be asking any more.
void dw_live_room_free(DwLiveRoom *room);
// Where in the folder of BOOK what is heard lies until it is dropped; made where it is not. The caller frees it.
char *dw_live_room_folder(const char *book);
// Takes up what an earlier run of the bench left in FOLDER of what it had heard, to be kept or dropped.
void dw_live_room_recall(DwLiveRoom *room, const char *folder);
DwLiveSession *dw_live_room_session(DwLiveRoom *room, unsigned place);
DwLiveInputs *dw_live_room_inputs(DwLiveRoom *room);

typedef struct {
    const char *input;  // as dw_live_open() takes it
    const char *label;  // what pages call it: a device need not know where a file lies
    const char *folder; // for the take
} DwLiveRoomStart;

// Starts; takes ownership of INPUTS in either case. What the other place listens to is refused.
DwStatus dw_live_room_start(DwLiveRoom *room, unsigned place, const DwLiveRoomStart *start, DwInputs *inputs,
                            DwMessage *message);
// Puts what was typed for the running input into INPUTS where PROCEDURE takes it.
void dw_live_room_add_inputs(DwLiveRoom *room, unsigned place, const DwProcedure *procedure, DwInputs *inputs);

// The state now, whose `input` is the label. The caller frees it with free().
DwLiveSnapshot *dw_live_room_look(DwLiveRoom *room, unsigned place);

typedef struct {
    char *json;     // the caller frees it with free()
    double held_s;  // how long the asker had to wait
    double since_s; // since the last samples came, when it was answered
} DwLiveRoomAnswer;

// Waits as dw_live_session_await() does and gives the state with the raster's
// turns from ROW on.
DwLiveRoomAnswer dw_live_room_ask(DwLiveRoom *room, unsigned place, uint64_t after_seq, uint64_t row, int timeout_ms);

#endif
