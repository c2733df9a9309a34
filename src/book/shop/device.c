// SPDX-License-Identifier: MIT
#include "book/shop/device.h"

#include "book/store/private.h"

static const DwField fields[] = {
    {"name", "Name", DW_FIELD_TEXT, offsetof(DwDevice, name), .required = true},
    {"token_hash", "Key", DW_FIELD_TEXT, offsetof(DwDevice, token_hash), .required = true, .kept = true,
     .secret = true},
    {"paired_at", "Paired", DW_FIELD_MOMENT, offsetof(DwDevice, paired_at), .required = true, .kept = true},
    {"last_seen_at", "Last seen", DW_FIELD_MOMENT, offsetof(DwDevice, last_seen_at), .kept = true},
    {"revoked_at", "Revoked", DW_FIELD_MOMENT, offsetof(DwDevice, revoked_at), .kept = true},
};

const DwEntity dw_device_entity = {"device", "screen", sizeof(DwDevice), fields, sizeof fields / sizeof *fields, NULL};

DwStatus dw_device_add(DwBook *book, const char *name, const char *token_hash, int64_t *id, DwMessage *message)
{
    DwDevice device;
    dw_record_init(&device.record, &dw_device_entity);
    dw_field_replace(&device.name, name);
    dw_field_replace(&device.token_hash, token_hash);
    dw_field_stamp(book, &device.paired_at, NULL);
    DwStatus status = dw_record_keep(book, &device.record, message);
    if (status == DW_OK && id)
        *id = device.record.id;
    dw_record_clear(&device.record);
    return status;
}

DwStatus dw_device_find_by_hash(DwBook *book, const char *token_hash, DwDevice *device, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT id FROM device WHERE token_hash = ? AND revoked_at IS NULL");
    dw_query_bind_text(&query, token_hash);
    int64_t id = dw_query_step(&query) ? dw_query_integer(&query, 0) : 0;
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK && !id)
        return dw_fail(message, DW_BAD_INPUT, "This screen is not paired with the book. Pair it at the bench.");
    return status == DW_OK ? dw_record_load(book, &device->record, id, message) : status;
}

DwStatus dw_device_list(DwBook *book, DwRecords *devices, DwMessage *message)
{
    return dw_record_select(book, &dw_device_entity, "WHERE revoked_at IS NULL ORDER BY id", 0, devices, message);
}

DwStatus dw_device_revoke(DwBook *book, int64_t id, DwMessage *message)
{
    DwDevice device;
    dw_record_init(&device.record, &dw_device_entity);
    DwStatus status = dw_record_load(book, &device.record, id, message);
    if (status == DW_OK && device.revoked_at)
        status = dw_fail(message, DW_BAD_INPUT, "The screen \"%s\" was revoked already.", device.name);
    if (status == DW_OK) {
        dw_field_stamp(book, &device.revoked_at, NULL);
        status = dw_record_keep(book, &device.record, message);
    }
    dw_record_clear(&device.record);
    return status;
}

// Asks first: even an update that changes nothing would wait for whoever writes.
DwStatus dw_device_seen(DwBook *book, int64_t device, DwMessage *message)
{
    enum { UP_TO_THE_MINUTE = 16 }; // characters of a moment
    char now[DW_MOMENT_SIZE];
    dw_book_now(book, now);
    DwQuery query = dw_query_begin(book, "SELECT 1 FROM device WHERE id = ? AND "
                                         "substr(coalesce(last_seen_at, ''), 1, ?) <> substr(?, 1, ?)");
    dw_query_bind_integer(&query, device);
    dw_query_bind_integer(&query, UP_TO_THE_MINUTE);
    dw_query_bind_text(&query, now);
    dw_query_bind_integer(&query, UP_TO_THE_MINUTE);
    bool due = dw_query_step(&query);
    DwStatus status = dw_query_end(&query, message);
    if (status != DW_OK || !due || dw_book_fixed(book)) // a device may look at what can only be read
        return status;
    status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    query = dw_query_begin(book, "UPDATE device SET last_seen_at = ? WHERE id = ?");
    dw_query_bind_text(&query, now);
    dw_query_bind_integer(&query, device);
    return dw_book_end(book, dw_query_finish(&query, message), message);
}
