// What storage keeps, as types; no code.

/**
 * @typedef {import('../records.d.ts').Value} Value A facet's value: an object of its fields.
 *
 * @typedef {object} StoredFacet A facet as the server has it.
 * @property {string} op id of the operation that wrote it
 * @property {number} seq
 * @property {string} by person
 * @property {string} [via] who handed it in, where that is another
 * @property {string} at device time, to be shown only
 * @property {Value} value
 *
 * @typedef {object} Mine A facet as this phone has changed it, not answered yet, or refused.
 * @property {string} op
 * @property {string} by
 * @property {string} at
 * @property {Value} value
 * @property {{code: string, facts: Facts}} [refused]
 *
 * @typedef {object} Conflict
 * @property {string} id
 * @property {string} facet
 * @property {string} op
 * @property {string} by
 * @property {string} [via] who handed it in, where that is another
 * @property {string} at
 * @property {number} seq
 * @property {Value} value
 * @property {string} [kind]
 * @property {string} [device]
 *
 * @typedef {{records: LocalRecord, outbox: Waiting, refused: Refused, answered: Waiting, answers: Answers, photos: PhotoRow, summaries: Summary,
 *   recovered: Recovered, staging: LocalRecord, photo_bytes: ArrayBuffer, meta: unknown}} Rows What stands in each store.
 *
 * @typedef {object} LocalRecord
 * @property {string} id
 * @property {string} type
 * @property {number} seq newest sequence that is known of it; its conflict list is of that sequence
 * @property {Record<string, StoredFacet>} facets
 * @property {Conflict[]} conflicts
 * @property {Record<string, Mine>} mine
 * @property {Record<string, string>} settling conflict -> own operation that names it
 * @property {string | null} parent as shown (mine before the server's)
 * @property {boolean} removed as shown
 * @property {string} [lookup] as shown
 * @property {1} [in_conflict] something in it is to be settled
 * @property {string[]} refs records that it refers to, as shown
 * @property {string[]} [type_refs] the same with this record's type behind each; absent where an older app wrote it
 *
 * @typedef {object} Operation
 * @property {string} id device.epoch.counter
 * @property {string} by
 * @property {string} record
 * @property {string} type
 * @property {string} facet
 * @property {'set' | 'remove' | 'restore'} kind
 * @property {string | null | Record<string, string | null>} seen
 * @property {Value | null} from
 * @property {Value | null} to
 * @property {string[]} settles
 * @property {string} [replaces]
 * @property {{id: string, hash: string}} [formerly]
 * @property {string} device_time
 * @property {number} spec
 *
 * @typedef {object} Waiting An operation in the outbox; `n` is its counter and its place.
 * @property {number} n
 * @property {string} id
 * @property {string} record
 * @property {Operation} op
 *
 * @typedef {object} Refused
 * @property {string} id
 * @property {number} n
 * @property {string} record
 * @property {Operation} op
 * @property {string} code
 * @property {Facts} facts
 * @property {number} [lacked] refused for want of a record: the newest sequence that this phone knew of it then, 0 for none
 * @property {number} [fullPulls] how many full pulls this phone had made then
 *
 * @typedef {object} Answered What was answered to an own operation.
 * @property {number} n its counter
 * @property {string} result
 * @property {number} seq
 * @property {string} [code] why it was refused
 * @property {Facts} [facts]
 * @property {State} [state] the record as the server has it, where that is not what the operation says
 *
 * @typedef {object} Answers What was answered to a batch.
 * @property {number} n counter of the last that was answered
 * @property {number} from counter of the first
 * @property {Answered[]} each
 *
 * @typedef {object} Answer
 * @property {string} id
 * @property {'applied' | 'same' | 'conflict' | 'refused' | 'held' | 'fork'} result
 * @property {number} [seq]
 * @property {State} [record]
 * @property {string} [code]
 * @property {Facts} [facts]
 *
 * @typedef {object} State A record on the wire.
 * @property {string} id
 * @property {string} type
 * @property {string | null} parent
 * @property {number} seq
 * @property {boolean} removed
 * @property {Record<string, Omit<StoredFacet, 'value'> & {value?: Value}>} facets
 * @property {Conflict[]} conflicts
 *
 * @typedef {object} Page
 * @property {string} incarnation
 * @property {string} scope
 * @property {number} head
 * @property {number} next
 * @property {boolean} more
 * @property {State[]} records
 * @property {number} [count]
 * @property {string} [sum]
 * @property {number} [backed_up]
 *
 * @typedef {object} Draft A change as a screen asks for it.
 * @property {string} record
 * @property {string} type
 * @property {string} facet
 * @property {Value} [value]
 * @property {string | null} [seen]
 * @property {string[]} [settles]
 * @property {'set' | 'remove' | 'restore'} [kind]
 * @property {boolean} [takesBack] it undoes what this phone wrote
 * @property {string[]} [staying] of a removal: what stays below it, as it was seen
 *
 * @typedef {object} PhotoRow
 * @property {string} sha256
 * @property {string} record
 * @property {number} bytes
 * @property {string} at
 * @property {boolean} received the server has given its receipt
 * @property {{code: string, facts: Facts}} [refused]
 *
 * @typedef {object} Phone
 * @property {string} device
 * @property {string} epoch
 * @property {number} counter counter of the newest operation
 * @property {number} sentTo operations up to this counter have been in a request or a file
 * @property {Waiting | null} newest newest operation that was saved; one of the outbox while its counter is above `sentTo`
 * @property {import('./saving.js').Undone[][]} undo what can be taken back, newest first
 * @property {Record<string, string>} [renamed] former id -> id, since the last fork
 * @property {number} [uncounted] saves that the rooms' rows do not have yet
 * @property {number} [recounts] how often all rows were counted anew
 * @property {number} [version] grows with each writing of this row
 *
 * @typedef {object} SyncState
 * @property {number} cursor
 * @property {number} firstHead head of the first page of the pull that runs, 0 otherwise
 * @property {string | null} incarnation
 * @property {string | null} scope
 * @property {string | null} full why everything is to be pulled again; null when it is not
 * @property {number} fullCursor
 * @property {number} backedUp
 * @property {string | null} verified no longer written
 * @property {boolean} mismatch
 * @property {boolean} recount summaries wait to be counted anew
 * @property {number} [answeredTo] operations up to this counter were answered
 * @property {number[]} [stragglers] but for these, which go on waiting
 * @property {number[]} [toTake] answers to batches that the records do not have yet
 * @property {number} [fullPulls] how often a full pull has replaced the copy
 * @property {string | null} [at] when the last sync ended well
 *
 * @typedef {object} Counts
 * @property {number} operations that wait
 * @property {number} photos without a receipt
 * @property {number} refused operations and photos that a person must deal with
 * @property {number} recovered facets that a person must deal with
 * @property {number} conflicts facets of records that are to be settled, as the screen shows them
 * @property {number} [version] of the phone's row, read by the same transaction: which saves are in these numbers
 *
 * @typedef {object} Added What one transaction adds to what waits; negative where it takes something away.
 * @property {number} version of the phone's row as that transaction wrote it
 * @property {number} operations
 * @property {number} photos
 * @property {number} refused
 *
 * @typedef {object} Recovered A facet that only the old copy knew when the server had been set back.
 * @property {number} key
 * @property {string} record
 * @property {string} type
 * @property {string} facet
 * @property {string} by
 * @property {string} at
 * @property {Value} value
 *
 * @typedef {object} Summary
 * @property {string} room
 * @property {string | null} floor
 * @property {number} groups
 * @property {number} fixtures
 * @property {number} unsent
 * @property {number} conflicts
 * @property {number} photos_unsent
 *
 * @typedef {Pick<Summary, 'groups' | 'fixtures' | 'unsent' | 'conflicts' | 'photos_unsent'>} Share What a record adds to its room's row.
 * @typedef {{anchor: string | null, share: Share}} Part What a record adds, and the next record on the way to its room.
 * @typedef {{id: string, before: Part | null, after: Part | null}} Change What writing a record means for the rooms' rows.
 *
 * @typedef {import('../records.d.ts').RecordView} RecordView A record as screens see it, of whatever type.
 */

export {};
