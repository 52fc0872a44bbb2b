// Made from crates/server/openapi.json by `npm run types`. Do not edit.

export interface paths {
    "/api/attachments": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Keeps a file, up to 4 GiB; pinning it to a record is a draft of its own.
         * @description The same content again changes nothing and answers 200. Of an upload that was cut off nothing is kept.
         */
        post: operations["post_attachment"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/attachments/fetch": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Has files fetched that are not here, whether or not this device fetches by itself. The answer comes at once and
         *     tells how they stand.
         */
        post: operations["post_attachments_fetch"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/attachments/wanted": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Tells how files stand here, and which of them to bring. */
        post: operations["post_attachments_wanted"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/attachments/{hash}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Gives a file, or a part of it.
         * @description Its content is checked against its hash first. Pictures and sound are shown in place, anything else is saved.
         */
        get: operations["get_attachment"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/attachments/{hash}/parts": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Lists the parts of a file: a version (1 byte), its size (8 bytes, big-endian), the BLAKE3 chaining value of each
         *     mebibyte (32 bytes each).
         * @description Merged as BLAKE3 merges them, the values give the file's hash; each part is proved by its own value.
         */
        get: operations["get_attachment_parts"];
        /**
         * Begins to bring a file, or takes up one that stopped: the answer says how many of its bytes are here.
         * @description The same list again changes nothing.
         */
        put: operations["put_attachment_parts"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/attachments/{hash}/parts/{index}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /** Takes one part of a file whose list is here. One that is here already changes nothing. */
        put: operations["put_attachment_part"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/attachments/{hash}/thumbnail": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Gives a small copy of a picture, upright, its longest side 320 pixels. */
        get: operations["get_attachment_thumbnail"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/backups": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Tells how backups are made, how that went, and which lie there. */
        get: operations["get_backups"];
        put?: never;
        /** Makes a backup now, in the folder the server was started with. */
        post: operations["post_backup"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/cautions": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * What can hurt someone on a job, why it is shown, and who has read it. To acknowledge one, send a draft with an
         *     `acknowledgement` whose `facts` are the caution's `keep`.
         */
        get: operations["get_cautions"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/compare": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Sets and walls side by side, and the changes between them. */
        get: operations["get_compare"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/compare/couplings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Walls by how their leaves are tied together. */
        get: operations["get_compare_couplings"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/compare/fills": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Walls and bench rigs by what fills them. */
        get: operations["get_compare_fills"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/compare/jobs": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One row for each job and assembly. */
        get: operations["get_compare_jobs"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/compare/question": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Answers a question about kinds of walls: the interval of the difference and a verdict, never a bare ranking. */
        get: operations["get_compare_question"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/compare/walls": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What kinds of walls gave over the jobs: average, next job, cost, and what was left out. */
        get: operations["get_compare_walls"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/conflicts": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Fields with several values, each of which stands until a person picks. */
        get: operations["get_conflicts"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/devices": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The devices of the notebook, what they may do, how much of them is here, and what is set aside. */
        get: operations["get_devices"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/devices/{device}/let-in": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Lets all of a revoked device in again. */
        post: operations["let_in_device"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/devices/{device}/let-in-branch": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Takes over what a device wrote on a branch that was set aside: under the device that answers, drafts unchanged. */
        post: operations["let_in_branch"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/devices/{device}/name": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /** Says what people call a device, and who carries it. */
        put: operations["name_device"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/devices/{device}/revoke": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Revokes a device: what it has written up to now, as it is held here, still counts; nothing after it does. */
        post: operations["revoke_device"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/drafts/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /**
         * Takes a draft: everything in it is on disk when the answer comes, or nothing is.
         * @description Sending the same draft again is harmless and answers 200. Another content under the same id is refused, and so is
         *     a draft that says to be meant for another notebook.
         */
        put: operations["put_draft"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/entries": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The day log, newest day first, with hours and the number of photos. */
        get: operations["get_entries"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/events": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Tells which records moved, as it happens.
         * @description Events: `here` (where the notebook stands now; sent when no Last-Event-ID came), `changed` (records that were
         *     written to), `reset` (too much has changed to name it: fetch again what is shown), `closing` (the server stops).
         *     The id of each event is a position; sent back as Last-Event-ID, the stream goes on from there.
         */
        get: operations["get_events"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/example": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Fills a notebook that holds nothing of its own with invented jobs, receipts and readings to look around in.
         * @description The notebook takes the example's name and currency. It cannot be taken out again: for work of one's own a new notebook
         *     is started.
         */
        post: operations["post_example"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/files": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Photos and files pinned to a record.
         * @description Computed for each request: which files this device has can change without a change of the notebook.
         */
        get: operations["get_files"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/find": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Past work by a plain question, kind by kind, with what it achieved and cost.
         * @description The answer says how the question was understood; what cannot be understood is searched as words. A filter that names
         *     nothing is left out and said.
         */
        get: operations["get_find"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/find/alike/{assembly}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Walls built like one wall, either way round, with what differs. */
        get: operations["get_find_alike"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/find/suggest": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** How a question that is being typed might go on. */
        get: operations["get_find_suggest"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/findings/assemblies/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What was achieved with an assembly, and how the sound divides between wall and openings. */
        get: operations["get_assembly_finding"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/findings/jobs/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What a job shows, and what that cost. */
        get: operations["get_job_finding"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/findings/sets/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What one round of readings shows, number by number. */
        get: operations["get_set_finding"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/findings/tests/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What a test shows: the change between its sets, how sure that is, and why. */
        get: operations["get_test_finding"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/health": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Tells that the server is well, after a look into the notebook. */
        get: operations["get_health"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/invitations": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What is out, and what became of the one before. The code itself is not told again. */
        get: operations["get_invitations"];
        put?: never;
        /**
         * Makes a one-time code, good for ten minutes; one that was out is void.
         * @description Five wrong codes void it too. The code is in this answer and nowhere else.
         */
        post: operations["invite"];
        /** Takes the code back that is out. */
        delete: operations["end_invitation"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Every job's money with the sum, and what results cost. */
        get: operations["get_jobs"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One job: dates, tasks, money, what is left over, sets, what needs a look. */
        get: operations["get_job"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/jobs/{name}/cost": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What one job cost, by group and by division, against its estimate. */
        get: operations["get_job_cost"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/join/finish": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Joins: the device proves that it knows the code and says who it is; the server invites it and proves itself.
         * @description Needs no session. The same again within a minute has the same answer. A wrong proof counts as a wrong code.
         */
        post: operations["finish_join"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/join/start": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Begins to join: the device sends its half of the proof and gets the server's.
         * @description Needs no session. Neither half tells the code, or whether the other's was right.
         */
        post: operations["start_join"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/kinds": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Every kind of record with its fields: enough to make a form. */
        get: operations["get_kinds"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/marks": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What a person should look at, in the whole notebook. */
        get: operations["get_marks"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/materials/{name}/prices": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What a material cost, purchase by purchase and supplier by supplier, for one of its units. */
        get: operations["get_material_prices"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/materials/{name}/stock": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The stock of one material, step by step and place by place. */
        get: operations["get_material_stock"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/next": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The test that would tell most for its cost, with the reason, and what could follow. */
        get: operations["get_next"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/openapi.json": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Tells what the server answers to, as OpenAPI 3.1. */
        get: operations["get_document"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/problems/{code}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Tells what a code of a refusal means. */
        get: operations["get_problem"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/receipts": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Receipts with their lines, newest first. */
        get: operations["get_receipts"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/receipts/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One receipt with its lines, added up. */
        get: operations["get_receipt"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/recordings/{hash}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Measures a recording that is kept: levels, bands, a history, what is odd about it, and the reading it gives.
         * @description Nothing is written. Recordings are measured one at a time, up to two hours long; a second question waits for its turn.
         */
        get: operations["get_recording"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/records/{kind}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Every record of a kind, oldest first. */
        get: operations["get_records"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/records/{kind}/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One record with what points to it; struck ones too, by id. */
        get: operations["get_record"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/records/{kind}/{name}/history": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What was written on a record, by whom, when, why and over what. */
        get: operations["get_history"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/session": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Tells whom the server takes this browser for, and what it serves. */
        get: operations["get_session"];
        put?: never;
        /**
         * Lets a browser in with the one-time key, or with a code.
         * @description Needs no session. The answer sets the cookie that every other request carries.
         */
        post: operations["open_session"];
        /** Ends the session; the browser needs a new key to come in again. */
        delete: operations["end_session"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sessions": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The browsers that may come in. */
        get: operations["get_sessions"];
        put?: never;
        post?: never;
        /** Shuts every browser out but the one that asks. */
        delete: operations["end_other_sessions"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sessions/{session}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /** Shuts a browser out; it needs a new code to come in again. */
        delete: operations["end_other_session"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sketch": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * What an assembly would be that is not written yet: its layers and what they weigh, what a model says of it, and which field cannot
         *     be read. Nothing is written.
         */
        get: operations["get_sketch"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sketch/section": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The section of an assembly that is not written yet, painted as its query says. */
        get: operations["get_sketch_section"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/stock": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What is left of materials, by place and job. */
        get: operations["get_stock"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sync": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Tells with which addresses this device syncs, and how it goes. */
        get: operations["get_sync"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sync/exchange": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Takes part in a sync conversation: some messages in, some messages out.
         * @description Both bodies are frames: version, conversation, number of the request, flags, messages. Opened by a device's key.
         */
        post: operations["post_exchange"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sync/greeting": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Greets a device and proves which device serves.
         * @description The first step of letting a device in; needs no session.
         */
        post: operations["greet_device"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sync/key": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Lets a device in that proves itself.
         * @description The second step; needs no session. The key opens `/api/sync/exchange`, `/api/events` and the files under `/api/attachments/`.
         */
        post: operations["open_device"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sync/now": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Syncs with every address now, without waiting for the next time.
         * @description The answer comes at once and tells how it went before; ask `GET /api/sync` how it goes.
         */
        post: operations["sync_now"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/sync/partners": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /** Adds an address to sync with, or gives it another pin. */
        put: operations["put_sync_partner"];
        post?: never;
        /** Forgets an address. */
        delete: operations["delete_sync_partner"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/takeoff/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What a wall, ceiling or floor takes: bays and their clear sizes, cuts, materials less what lies at the site. */
        get: operations["get_takeoff"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/takeoff/{name}/drawing": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A drawing of the framed wall with its bays. */
        get: operations["get_takeoff_drawing"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/takeoff/{name}/section": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A section of an assembly, layer by layer. */
        get: operations["get_takeoff_section"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/tasks": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Tasks, oldest first. */
        get: operations["get_tasks"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/tests": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Every test with its sets and what it shows, newest first. */
        get: operations["get_tests"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/tests/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One test in full: conditions as found in each set, positions, sets with their readings, what it shows. */
        get: operations["get_test"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/tests/{name}/plan": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** How many positions and repeats would show a wanted change of a test, in which order to take them, and a sheet to print. */
        get: operations["get_test_plan"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/today": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One day: what was done where, hours, purchases, the jobs that run, open tasks, what looks wrong. */
        get: operations["get_today"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/writeups/{name}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A job, a test or a stored write-up as Markdown: method, results, limits, cost, cautions. Roles only, no address, no serial. */
        get: operations["get_writeup"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/writeups/{name}/archive": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Everything a write-up can be, in one zip file with the hashes of all. */
        get: operations["get_writeup_archive"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/writeups/{name}/cards/{shape}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A card with one result, to show in a film, as PNG. */
        get: operations["get_writeup_card"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/writeups/{name}/figures/{figure}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A figure of a write-up as SVG. */
        get: operations["get_writeup_figure"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/writeups/{name}/file": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One file of a write-up, by its path: the post, chapters of a film, a table. */
        get: operations["get_writeup_file"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/writeups/{name}/page": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The same as one page for a browser, with its pictures; it loads nothing and runs nothing. */
        get: operations["get_writeup_page"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/api/writeups/{name}/preview": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What a write-up holds: results, sections, figures, what leaves the notebook and what does not, what changed since an edition. */
        get: operations["get_writeup_preview"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
}
export type webhooks = Record<string, never>;
export interface components {
    schemas: {
        /** @description A level difference measured with it. */
        Achieved: {
            /** @description Whether it is a small panel on a bench. */
            bench_rig: boolean;
            /** @description Which way the sound went, in words. */
            direction: string;
            /** @description Whether the set takes part in results. */
            is_in_results: boolean;
            /** @description The job it was taken in. */
            job: components["schemas"]["Called"] | null;
            /** @description Level difference, dB. */
            level_difference: components["schemas"]["Estimate"];
            /** @description The set. */
            set: components["schemas"]["Called"];
            /** @description Weighting of the readings. */
            unit: string | null;
        };
        /** @description Jobs side by side. Listed, not ranked: they start from different walls in different rooms. */
        AcrossJobs: {
            /** @description Row by row. */
            jobs: components["schemas"]["AcrossRow"][];
        };
        /** @description One row for each job and assembly. */
        AcrossRow: {
            /** @description Versions that count as one design. */
            design: string;
            /**
             * Format: int64
             * @description How many jobs have the design.
             */
            jobs: number;
            /** @description Whether an opening limits it. */
            opening_limited: boolean;
            /** @description The change. */
            row: components["schemas"]["ChangeRow"];
            /** @description What they say together, in words. */
            words: string;
        };
        /**
         * @description How alike walls are that count together.
         * @enum {string}
         */
        Alike: "same" | "near" | "family";
        /** @description How many walls are alike at each level; each counts the better ones too. */
        AlikeCounts: {
            /**
             * Format: int64
             * @description Coupling equal.
             */
            family: number;
            /**
             * Format: int64
             * @description Coupling, mass bands, filled or not equal.
             */
            near: number;
            /**
             * Format: int64
             * @description All classes, bands and the kind of fill equal.
             */
            same: number;
        };
        /**
         * @description How alike two walls are.
         * @enum {string}
         */
        AlikeLevel: "same" | "near" | "family";
        /** @description A wall built like another. */
        AlikeWall: {
            /** @description What differs. */
            differences: components["schemas"]["Difference"][];
            /** @description The wall. */
            hit: components["schemas"]["Hit"];
            /** @description Whether it is alike as seen from the other side. */
            is_mirrored: boolean;
            /** @description Whether it is another version of the same wall. */
            is_same_wall: boolean;
            /** @description How alike. */
            level: components["schemas"]["AlikeLevel"];
        };
        /** @description An amount of money. */
        Amount: {
            /**
             * @description Digits as text, so that no program rounds them.
             * @example 377.28
             */
            amount: string;
            /**
             * @description ISO 4217 code of the currency.
             * @example USD
             */
            currency: string;
        };
        /** @description The answer to a question. */
        Answer: {
            /** @description What small panels show of the same sides. */
            bench_rig: components["schemas"]["OnBench"][];
            /** @description What counts nowhere. */
            left_out: components["schemas"]["CountsNowhere"][];
            /** @description What is compared. */
            measure: components["schemas"]["MeasureWord"];
            /** @description What would tell most. */
            next_step: string | null;
            /** @description Words that could not be read. */
            not_understood: string[];
            /** @description Whether an opening limits the compared walls. */
            opening_limited: boolean;
            /** @description Every pair, grades A and B. */
            pairs: components["schemas"]["Pair"][];
            /** @description Sides with an average, best first; never to be shown without the verdicts. */
            ranking: components["schemas"]["Ranked"][];
            /** @description The answer in sentences, most important first. */
            sentences: string[];
            /** @description In another state or limited by an opening. */
            shown_apart: components["schemas"]["ShownApart"][];
            /** @description The sides, in the order of the question. */
            sides: components["schemas"]["QuestionSide"][];
            /** @description State of the compared walls before and after; of a level difference only after. */
            states: (string | null)[];
            /** @description The question part by part, as it was understood. */
            understood: string[];
            /** @description Every pair with grade C counted too, where there is one. */
            with_grade_c: components["schemas"]["Pair"][];
        };
        /** @description Two results side by side. */
        Apart: {
            /** @description Its interval, dB. */
            interval: components["schemas"]["Interval"] | null;
            /** @description Least difference that is told apart, dB. */
            least_told_apart: components["schemas"]["Number"];
            /** @description Rounded, with its sign. */
            printed: string;
            /** @description Whether the two can be told apart. */
            told_apart: boolean;
            /**
             * Format: double
             * @description The difference, unrounded, dB.
             */
            value: number;
        };
        /** @description An area in both units. */
        AreaBoth: {
            /** @description In ft². */
            ft2: components["schemas"]["Number"];
            /** @description In m². */
            m2: components["schemas"]["Number"];
        };
        /** @description A mass over area either way. */
        AreaMass: {
            /** @description kg/m². */
            kg_m2: components["schemas"]["Number"];
            /** @description lb/ft². */
            lb_ft2: components["schemas"]["Number"];
        };
        /** @description What was achieved with an assembly. */
        AssemblyFinding: {
            /** @description Level differences measured with it. */
            achieved: components["schemas"]["Achieved"][];
            /** @description As built. */
            built: components["schemas"]["Built"] | null;
            /** @description What building it changed. */
            changes: components["schemas"]["Change"][];
            /** @description The assembly. */
            id: components["schemas"]["Id"];
            /** @description Always `assembly`. */
            kind: components["schemas"]["OfAssembly"];
            /** @description Its label. */
            label: string;
            /** @description Why it says nothing. */
            not_predicted_because: string | null;
            /** @description How the sound divides. */
            paths: components["schemas"]["Paths"] | null;
            /** @description What a model says such a wall should give. */
            predicted: components["schemas"]["Predicted"] | null;
            /** @description In a sentence or two. */
            sentence: string;
        };
        /** @description Several jobs together. */
        Average: {
            /** @description Why there is no average. */
            absent: string | null;
            /** @description How the true average stands to the number. */
            bound: components["schemas"]["Bound"];
            /** @description How it was drawn. */
            by: components["schemas"]["AverageWay"] | null;
            /** @description How sure a threshold is. */
            chance: components["schemas"]["Chance"] | null;
            /** @description Where the average very likely lies, dB. */
            interval: components["schemas"]["Interval"] | null;
            /**
             * Format: int64
             * @description How many jobs.
             */
            jobs: number;
            /** @description What to expect of the next job, dB. */
            next_job: components["schemas"]["Interval"] | null;
            /** @description Jobs show no spread beyond their measurement. */
            no_spread_seen: boolean;
            /** @description Scale of the half-normal prior, dB. */
            prior_scale: components["schemas"]["Number"] | null;
            /** @description How much jobs differ beyond their measurement, standard deviation, dB. */
            spread_between_jobs: components["schemas"]["Number"] | null;
            /** @description Its interval, dB. */
            spread_between_jobs_interval: components["schemas"]["Interval"] | null;
            /** @description The average, or the one job's own number, dB. */
            value: components["schemas"]["Number"] | null;
            /** @description The average without each job in turn. */
            without_one: components["schemas"]["WithoutOne"][];
        };
        /**
         * @description How an average was drawn.
         * @enum {string}
         */
        AverageWay: "half-normal" | "t";
        /**
         * @description What results are compared by.
         * @enum {string}
         */
        AxisWord: "fill" | "coupling";
        /**
         * @description What the rule did with the level in the receiving room.
         * @enum {string}
         */
        BackgroundEffect: "none" | "subtracted" | "limit";
        /**
         * @description The rule for the room's own noise, by standard and edition.
         * @enum {string}
         */
        BackgroundRule: "astm_e336" | "iso16283" | "astm_e336_19a";
        /** @description A backup. */
        Backup: {
            /**
             * Format: int64
             * @description Its size, bytes.
             */
            bytes: number;
            /** @description Its file name. */
            file: string;
            /**
             * Format: int64
             * @description When it was made, ms since 1970.
             */
            made_ms: number;
        };
        /** @description An attempt that failed. */
        BackupFailure: {
            /**
             * Format: int64
             * @description When, ms since 1970.
             */
            at_ms: number;
            /** @description Why, and what to do. */
            reason: string;
        };
        /** @description Where backups go, and how often. */
        BackupPlan: {
            /**
             * Format: int64
             * @description Seconds between two.
             */
            every_s: number;
            /** @description The folder on the server's computer. */
            folder: string;
            /**
             * Format: int64
             * @description How many of the newest are kept.
             */
            keep: number;
        };
        /** @description How backups are made, and how that went. */
        Backups: {
            /** @description Whether one is being made now. */
            at_work: boolean;
            /** @description Those that lie in the folder, newest first. */
            backups: components["schemas"]["Backup"][];
            /** @description Why the last attempt since the server started failed, where no good one came after it. */
            last_failure: components["schemas"]["BackupFailure"] | null;
            /** @description The last good one that is there, by the clock of the device that made it. */
            last_good: components["schemas"]["Backup"] | null;
            /** @description The plan; none where the server makes none. */
            plan: components["schemas"]["BackupPlan"] | null;
        };
        /** @description A change by band. */
        BandChange: {
            /** @description Labels of the receive positions that both sets have. */
            compared_on: string[];
            /** @description Single numbers. */
            ratings: components["schemas"]["RatingChange"][];
            /** @description Lowest band first. */
            rows: components["schemas"]["BandChangeRow"][];
            /** @description How wide the bands are. */
            width: components["schemas"]["BandWidth"];
        };
        /** @description One band of a change. */
        BandChangeRow: {
            /** @description Level difference after, dB. */
            after: components["schemas"]["Estimate"];
            /**
             * Format: double
             * @description Its nominal mid-band frequency, Hz.
             */
            band: number;
            /** @description Level difference before, dB. */
            before: components["schemas"]["Estimate"];
            /** @description After less before, dB. */
            change: components["schemas"]["Estimate"];
            /** @description Whether the change is at least that; absent where either is not known. */
            is_clear: boolean | null;
            /** @description The same, as people read it. */
            label: string;
            /** @description The least change that two single tests by one crew show in this band, dB. */
            least_that_shows: components["schemas"]["Number"] | null;
            /** @description The change at one reverberation time, dB: what the room alone did is taken out. */
            standardised: components["schemas"]["Estimate"] | null;
        };
        /** @description A single number made from bands, named after what the bands are: never a laboratory's. */
        BandRating: {
            /** @description How the true number stands to it. */
            bound: components["schemas"]["Bound"];
            /** @description The standard. */
            by: string;
            /**
             * Format: int64
             * @description The term C, dB, where the standard has it.
             */
            c: number | null;
            /**
             * Format: int64
             * @description The term Ctr, dB, where the standard has it.
             */
            ctr: number | null;
            /** @description Its curve, for a chart. */
            curve: components["schemas"]["CurvePoint"][];
            /** @description The bands that hold it down, Hz. */
            decided_by: number[];
            /** @description Its name: `NIC`, `Dw`, `NNIC` or `DnT,w`. */
            name: string;
            /** @description Whether one band alone holds it down: look for a leak or a dip there. */
            one_band_decides: boolean;
            /** @description As it is written. */
            stated: string;
            /**
             * Format: int64
             * @description The number, dB.
             */
            value: number;
        };
        /** @description One band of a set. */
        BandRow: {
            /** @description The receiving room's own noise, dB. */
            background: components["schemas"]["Number"] | null;
            /** @description What the rule did with it. */
            background_effect: components["schemas"]["BackgroundEffect"] | null;
            /**
             * Format: double
             * @description Its nominal mid-band frequency, Hz.
             */
            band: number;
            /** @description The same, as people read it. */
            label: string;
            /** @description Source less corrected receive, dB. */
            level_difference: components["schemas"]["Estimate"];
            /** @description Mean of the receiving room as read, dB. */
            receive: components["schemas"]["Number"];
            /** @description Reverberation time of the receiving room, s. */
            reverberation: components["schemas"]["Number"] | null;
            /** @description Mean of the source room, dB. */
            source: components["schemas"]["Number"];
            /** @description The level difference at a reverberation time of 0.5 s, dB. */
            standardised: components["schemas"]["Estimate"] | null;
        };
        /**
         * @description How wide the bands are.
         * @enum {string}
         */
        BandWidth: "octave" | "third";
        /** @description One cavity. */
        Bay: {
            /** @description Clear height. */
            height: components["schemas"]["MeasuredLength"];
            /**
             * Format: int32
             * @description Its number on the drawing and in the cut list, from 1.
             */
            number: number;
            /**
             * Format: int32
             * @description Batts it takes from whole ones; null where no batt is chosen.
             */
            pieces: number | null;
            /** @description Where it lies. */
            place: components["schemas"]["BayPlace"];
            /**
             * Format: int32
             * @description Its wall, from 1.
             */
            wall: number;
            /** @description Clear width. */
            width: components["schemas"]["MeasuredLength"];
        };
        /**
         * @description Where a cavity lies.
         * @enum {string}
         */
        BayPlace: "full" | "part" | "above" | "below";
        /** @description What a bench rig shows. A small panel is never compared with walls. */
        BenchFinding: {
            /** @description The first state measured again. */
            first_state_again: components["schemas"]["FirstAgain"] | null;
            /** @description Its states, each against each. */
            pairs: components["schemas"]["BenchPair"][];
            /** @description Standard deviation of the runs of all states, dB. */
            pooled_spread: components["schemas"]["Number"] | null;
            /** @description Its states. */
            rows: components["schemas"]["BenchRow"][];
            /** @description What it shows, in sentences. */
            sentences: string[];
            /** @description The test. */
            test: components["schemas"]["Called"];
        };
        /** @description Two states of a bench rig side by side. */
        BenchPair: {
            /** @description Second less first. */
            difference: components["schemas"]["Apart"];
            /** @description Label of the first. */
            first: string | null;
            /** @description Label of the second. */
            second: string | null;
        };
        /** @description One state of a bench rig. */
        BenchRow: {
            /** @description The panel. */
            assembly: components["schemas"]["Called"] | null;
            /** @description What fills it. */
            fill: string;
            /** @description Mean of the runs, dB. */
            mean: components["schemas"]["Number"];
            /**
             * Format: int64
             * @description How many runs.
             */
            runs: number;
            /** @description The set. */
            set: components["schemas"]["Called"];
            /** @description Standard deviation of the runs, dB. */
            spread: components["schemas"]["Number"] | null;
            /** @description Against the first state. */
            to_first: components["schemas"]["Apart"] | null;
        };
        /** @description How the boards of one kind are laid out and cut. */
        BoardCuts: {
            /** @description Sheet by sheet. */
            cuts: components["schemas"]["SheetCut"][];
            /**
             * Format: int32
             * @description The fewest that any way of cutting could do with.
             */
            fewest_possible: number;
            /** @description Where pieces of one layer meet, to be taped. */
            joints: components["schemas"]["MeasuredLength"];
            /**
             * Format: int32
             * @description Layers of it.
             */
            layers: number;
            /** @description The material; null where none of the notebook is meant for sure. */
            material: components["schemas"]["Called"] | null;
            /** @description What it is called. */
            name: string;
            /** @description Pieces of one layer. */
            pieces: components["schemas"]["BoardPlaced"][];
            /** @description One sheet. */
            sheet: components["schemas"]["OffcutSize"];
            /**
             * Format: int32
             * @description Sheets for all layers by this plan.
             */
            sheets: number;
        };
        /** @description A piece of board on the wall, from its left end and from the lower edge of the board. */
        BoardPlaced: {
            /** @description From the lower edge of the board. */
            bottom: components["schemas"]["MeasuredLength"];
            /** @description From the left end. */
            left: components["schemas"]["MeasuredLength"];
            /** @description Up the wall. */
            length: components["schemas"]["MeasuredLength"];
            /**
             * Format: int32
             * @description The wall, from 1.
             */
            wall: number;
            /** @description Along the wall. */
            width: components["schemas"]["MeasuredLength"];
        };
        /** @description A rebuild measured both ways. */
        BothWays: {
            /** @description Whether they agree. */
            agree: boolean;
            /** @description How far they lie apart, dB. */
            apart: components["schemas"]["Number"];
            /** @description The other way. */
            back: components["schemas"]["Way"];
            /** @description Wall and room apart, where studs were open. */
            parted: components["schemas"]["Parted"] | null;
            /** @description In a sentence. */
            sentence: string;
            /** @description One way. */
            there: components["schemas"]["Way"];
        };
        /** @description A receipt of the day. */
        Bought: {
            /** @description The receipt. */
            receipt: components["schemas"]["Called"];
            /** @description What it brings to this site's jobs, tax counted. */
            sum: components["schemas"]["Amount"];
        };
        /**
         * @description How the true value stands to a stated number.
         * @enum {string}
         */
        Bound: "exact" | "at-least" | "at-most" | "undetermined";
        /** @description What became of a branch that was let in. */
        BranchTaken: {
            /**
             * Format: int64
             * @description Drafts that counted already.
             */
            held_elsewhere: number;
            /**
             * Format: int64
             * @description Drafts that say who belongs to the notebook, which are not taken over.
             */
            left_out: number;
            /**
             * Format: int64
             * @description Drafts that count now.
             */
            taken: number;
        };
        /** @description A browser that was let in. */
        Browser: {
            /** @description When it has lasted as long as a session may. */
            ends_at: components["schemas"]["Moment"];
            /**
             * @description Names it in an address; says nothing about what the browser holds.
             * @example 5f0c9a1e22d4b871
             */
            id: string;
            /** @description Whether it is the one that asks. */
            is_this: boolean;
            /** @description What people call it. */
            label: string | null;
            /** @description When it was let in. */
            made_at: components["schemas"]["Moment"];
            /** @description The person who works there. */
            person: components["schemas"]["Called"];
            /** @description What it may do. */
            role: components["schemas"]["RoleName"];
            /** @description When it was last noted as seen, to the hour. */
            seen_at: components["schemas"]["Moment"];
        };
        /** @description Browsers that may come in. */
        Browsers: {
            /** @description Browser by browser, oldest first. */
            sessions: components["schemas"]["Browser"][];
        };
        /** @description An assembly as built. */
        Built: {
            /** @description What it is: one of the choices of the field in `/api/kinds`. */
            element: string | null;
            /**
             * @description Its height, as people read it.
             * @example 8' 1 1/8"
             */
            height: string | null;
            /** @description The job that built or found it. */
            job: components["schemas"]["Called"] | null;
            /**
             * @description Its length, as people read it.
             * @example 12' 6"
             */
            length: string | null;
            /** @description Anything else. */
            note: string | null;
            /** @description Its parts. */
            parts: components["schemas"]["Parts"];
            /** @description The version it replaces. */
            replaces: components["schemas"]["Called"] | null;
            /** @description Room on the side of leaf A. */
            room_a: components["schemas"]["Called"] | null;
            /** @description Room on the side of leaf B. */
            room_b: components["schemas"]["Called"] | null;
            /** @description Day it was built or found. */
            since: components["schemas"]["Day"] | null;
        };
        /** @description Walls built like one wall. */
        BuiltAlike: {
            /** @description Wall by wall, most alike first. */
            alike: components["schemas"]["AlikeWall"][];
            /** @description The wall. */
            assembly: components["schemas"]["Called"];
            /** @description How many there are at each level. */
            counts: components["schemas"]["AlikeCounts"];
            /** @description How alike walls must be. */
            level: components["schemas"]["AlikeLevel"];
            /** @description Where the next page begins. */
            next: components["schemas"]["Cursor"] | null;
            /** @description What to know about the list. */
            notes: string[];
            /** @description What it is, in words. */
            words: string;
        };
        /** @description What the filled cavities resist. */
        BuiltResistance: {
            /** @description R in the cavity, h·ft²·°F/Btu; null where nobody published it. */
            cavity_r: components["schemas"]["Number"] | null;
            /** @description The same, m²·K/W. */
            cavity_rsi: components["schemas"]["Number"] | null;
            /** @description R of the wall with its studs, boards and air films left out. */
            wall_r: components["schemas"]["Number"] | null;
            /** @description The same, m²·K/W. */
            wall_rsi: components["schemas"]["Number"] | null;
            /** @description In words, with the source. */
            words: string;
        };
        /** @description Rebuilds of one weighting and state by cost and change. */
        ByCost: {
            /** @description Whether an opening limits the walls. */
            opening_limited: boolean;
            /** @description Cheapest first. */
            points: components["schemas"]["CostPoint"][];
            /** @description In words. */
            sentence: string;
            /** @description State before and after. */
            states: string[];
            /** @description Weighting of the readings. */
            unit: string | null;
        };
        /** @description What a record is called: enough to show it and to ask for it. */
        Called: {
            /** @description The record. */
            id: components["schemas"]["Id"];
            /** @description Its kind, as `/api/kinds` names it; `record` where its kind is not known here. */
            kind: string;
            /** @description Its short name, where its kind has one and it is written. A position's stands within its test: `Q1/R2`. */
            label: string | null;
            /** @description Its name, title, role or question, or what it belongs to. */
            name: string | null;
        };
        /** @description Somebody has read a caution. */
        CautionRead: {
            /** @description The facts it was shown for then. */
            facts_then: string | null;
            /** @description What was said about it. */
            note: string | null;
            /** @description Who. */
            person: components["schemas"]["Called"] | null;
            /** @description When it was written down. */
            written_at: components["schemas"]["Moment"] | null;
        };
        /** @description One caution. */
        CautionShown: {
            /** @description The record it is shown for. */
            about: components["schemas"]["Called"];
            /** @description It was read, and the facts have changed since. */
            came_back: boolean;
            /** @description The facts that show it. */
            facts: string;
            /** @description Somebody has read it as it stands. */
            is_read: boolean;
            /** @description The text an acknowledgement keeps in `facts`. */
            keep: string;
            /** @description Its name, the one an acknowledgement gives. */
            name: string;
            /** @description Who has read it as it stands. */
            read: components["schemas"]["CautionRead"][];
            /** @description Who read it when it said something else. */
            read_before: components["schemas"]["CautionRead"][];
            /** @description Who says so, with edition or year. */
            source: string;
            /** @description What it is about. */
            subject: string;
            /** @description What to mind, and whom to ask. */
            text: string;
        };
        /** @description Cautions. One that is missing says nothing: the notebook knows only what it holds. */
        Cautions: {
            /** @description One by one. */
            cautions: components["schemas"]["CautionShown"][];
            /**
             * Format: int64
             * @description How many nobody has read as they stand.
             */
            unread: number;
        };
        /** @description How sure it is that the average is above a number. */
        Chance: {
            /** @description The number, dB. */
            above: components["schemas"]["Number"];
            /**
             * Format: double
             * @description The chance, 0 to 1.
             */
            chance: number;
        };
        /** @description What lies between two sets of one direction and weighting. */
        Change: {
            /** @description Why there is no number. */
            absent: string | null;
            /** @description Level difference of the second set on the compared positions, dB. */
            after: components["schemas"]["Estimate"] | null;
            /** @description Whether the two averages differ so much that both are to be shown. */
            averages_differ: boolean;
            /** @description The change by frequency band, where both sets have bands. */
            bands: components["schemas"]["BandChange"] | null;
            /** @description Level difference of the first set on the compared positions, dB. */
            before: components["schemas"]["Estimate"] | null;
            /** @description What to know beside it. */
            beside: string;
            /** @description What each position changed. */
            by_position: components["schemas"]["PositionChange"][];
            /** @description After less before, dB; positive is quieter in the receiving room. */
            change: components["schemas"]["Estimate"] | null;
            /** @description Whether it may be claimed. */
            claim: components["schemas"]["Claim"];
            /** @description Positions compared, by label. */
            compared_on: string[];
            /** @description An untouched wall measured around both sets. */
            control: components["schemas"]["Control"] | null;
            /** @description Which way the sound went, in words. */
            direction: string;
            /** @description Flags of both sets and of the comparison. */
            flags: components["schemas"]["Flag"][];
            /** @description What the formula for wall and openings gives. */
            formula: components["schemas"]["Predictions"];
            /** @description The first set. */
            from: components["schemas"]["SetRef"];
            /** @description How good the comparison was. */
            grade: components["schemas"]["Grade"];
            /** @description What so many decibels are to the ear; null where the readings are not in dBA. */
            heard: string | null;
            /** @description The interval of everything that makes it uncertain, dB. */
            interval: components["schemas"]["Interval"] | null;
            /** @description The interval from the scatter of these positions alone, dB. */
            interval_of_positions_alone: components["schemas"]["Interval"] | null;
            /** @description Least change that is claimed, dB. */
            least_claimed: components["schemas"]["Number"];
            /** @description Positions only one of the sets has, by label. */
            left_off: string[];
            /** @description Mean of the differences by position, dB. */
            mean_of_position_differences: components["schemas"]["Number"] | null;
            /** @description Why it may not, in words. */
            no_claim_because: string[];
            /** @description The numbers in one line. */
            numbers: string;
            /** @description A position that changed unlike the others. */
            odd_position: components["schemas"]["OddPosition"] | null;
            /** @description A position that holds nearly all the sound, so that the average is that position. */
            one_position_dominates: components["schemas"]["Dominant"] | null;
            /** @description Whether studs were showing in one of the sets, or in both. */
            open_studs: boolean;
            /** @description Whether one opening lets over half of the sound through, so that it is kept apart. */
            opening_limited: boolean;
            /** @description Parts of the wall that differ: the change belongs to all of them together. */
            parts_changed: components["schemas"]["PartChanged"][];
            /** @description Whether the source room was not measured in both sets. */
            receive_level_only: boolean;
            /** @description The change by resampling its positions; only where it answers a test or a job and has six positions or more. */
            resampled: components["schemas"]["Resampled"] | null;
            /** @description Runs before and after, on a bench rig. */
            runs: components["schemas"]["RunCounts"] | null;
            /** @description Standard deviation of the positions' influences on the change, dB. */
            scatter: components["schemas"]["Number"] | null;
            /** @description The headline, in plain words. */
            sentence: string;
            /** @description The second set. */
            to: components["schemas"]["SetRef"];
            /**
             * Format: double
             * @description Share of the interval that two more positions would leave, where there are only two; 0 to 1.
             */
            two_more_positions_leave: number | null;
            /** @description What makes it uncertain. */
            uncertainty: components["schemas"]["Uncertainty"];
            /** @description Weighting of the readings: `dBA`, `dBC`, `dB`. */
            unit: string | null;
        };
        /** @description A change with a position, or without it. */
        ChangeLine: {
            /** @description By energy, dB. */
            change: components["schemas"]["Number"];
            /** @description Its interval from the positions alone, dB. */
            interval: components["schemas"]["Interval"] | null;
        };
        /** @description One change in a table. */
        ChangeRow: {
            /** @description Labels of the assemblies, before and after. */
            assemblies: string[];
            /** @description The change, dB. */
            change: components["schemas"]["Estimate"];
            /** @description Whether it may be claimed. */
            claim: components["schemas"]["Claim"];
            /** @description Which way the sound went, in words. */
            direction: string;
            /** @description How good the comparison was. */
            grade: components["schemas"]["Letter"];
            /** @description Its interval, dB. */
            interval: components["schemas"]["Interval"] | null;
            /** @description Label of the job. */
            job: string;
            /** @description The line it stands in. */
            line: components["schemas"]["Line"];
            /** @description Parts of the wall that changed. */
            parts_changed: string[];
            /** @description Labels of the sets, before and after. */
            sets: string[];
            /** @description Weighting of the readings. */
            unit: string | null;
        };
        /** @description What was changed in a part of a record: a reading or condition of a set, a line of a receipt. */
        ChangedPart: {
            /** @description The part. */
            record: components["schemas"]["Called"];
            /** @description Its corrections, strikes and returns, oldest first. */
            steps: components["schemas"]["Step"][];
        };
        /**
         * @description Whether a change may be claimed.
         * @enum {string}
         */
        Claim: "claimed" | "at least" | "at most" | "no claim" | "undetermined";
        /** @description Two clocks that are more than a day apart. Nothing is refused for that; the wrong one should be set. */
        ClockDiffers: {
            /** @description Now, by the clock of whoever asks. */
            asking: components["schemas"]["Moment"];
            /** @description Now, by the server's clock. */
            server: components["schemas"]["Moment"];
        };
        /** @description Results compared by one property of the walls. */
        Comparison: {
            /** @description The property. */
            axis: components["schemas"]["AxisWord"];
            /** @description Bench rigs. */
            bench_rig: components["schemas"]["BenchFinding"][];
            /** @description What rebuilding walls changed. */
            changes: components["schemas"]["PairPool"][];
            /** @description What walls let through. */
            level_differences: components["schemas"]["FamilyPool"][];
            /** @description What to know about these tables. */
            notes: string[];
        };
        /** @description A variable to hold constant, with how it was found. */
        ConditionRow: {
            /** @description The condition. */
            condition: components["schemas"]["Record"];
            /** @description Set by set. */
            found: components["schemas"]["FoundIn"][];
        };
        /** @description What stands in conflict. */
        Conflicts: {
            /** @description Field by field. */
            conflicts: components["schemas"]["InConflict"][];
        };
        /** @description The difference of two sides, first less second. */
        Contrast: {
            /**
             * Format: double
             * @description Chance that the first is really better, 0 to 1.
             */
            chance_better: number | null;
            /** @description Degrees of freedom of it. */
            degrees_of_freedom: components["schemas"]["Number"] | null;
            /** @description Where it very likely lies, dB. */
            interval: components["schemas"]["Interval"] | null;
            /** @description What it rests on, in words. */
            rests_on: string;
            /** @description Spread between houses, standard deviation, dB. */
            spread_between_houses: components["schemas"]["Number"] | null;
            /** @description Its standard error, dB. */
            u: components["schemas"]["Number"];
            /** @description The difference, dB. */
            value: components["schemas"]["Number"];
        };
        /** @description An untouched wall measured around a change: what else changed. */
        Control: {
            /** @description The change less what the untouched wall changed, dB. */
            change_less_it: components["schemas"]["Estimate"];
            /** @description Which way the sound went through it, in words. */
            direction: string;
            /** @description It moved by more than it may: nothing is claimed before a person has looked. */
            find_out_first: boolean;
            /** @description Its first set. */
            from: components["schemas"]["SetRef"];
            /** @description Its interval, dB. */
            interval: components["schemas"]["Interval"] | null;
            /** @description A person has looked, and let its set in with a reason. */
            looked_at: boolean;
            /** @description What it changed, dB. */
            moved: components["schemas"]["Estimate"];
            /** @description Its interval, dB. */
            moved_interval: components["schemas"]["Interval"] | null;
            /** @description In words. */
            sentence: string;
            /** @description Its second set. */
            to: components["schemas"]["SetRef"];
        };
        /** @description A reading that was corrected. */
        CorrectedReading: {
            /** @description The fields that were corrected. */
            fields: string[];
            /** @description The reading. */
            id: components["schemas"]["Id"];
            /** @description Label of its position. */
            position: string;
        };
        /** @description A kind of rebuild among others by cost. */
        CostPoint: {
            /** @description Average change, dB. */
            average: components["schemas"]["Number"];
            /** @description The kinds that are no dearer and as good. */
            by: string[];
            /** @description Cost of a square metre for each further decibel from the step before. */
            further_per_m2_and_db: components["schemas"]["Number"] | null;
            /**
             * Format: int64
             * @description How many jobs.
             */
            jobs: number;
            /** @description Mean cost of a square metre. */
            per_m2: components["schemas"]["Price"];
            /** @description How it stands. */
            place: components["schemas"]["Place"];
            /** @description The kind, in words. */
            pool: string | null;
        };
        /**
         * @description What the numbers of a test count.
         * @enum {string}
         */
        Counted: "points" | "days" | "spots";
        /** @description A result that counts nowhere. */
        CountsNowhere: {
            /** @description Why. */
            because: string;
            /** @description Which. */
            what: string;
        };
        /**
         * @description Where the next page of a list begins: hand it back as `after`. What stands in it may change.
         * @example 01955e73-c400-7201-a36d-396cbc6abe48
         */
        Cursor: string;
        /** @description One band of a rating's curve. */
        CurvePoint: {
            /**
             * Format: double
             * @description Nominal mid-band frequency, Hz.
             */
            band: number;
            /** @description The curve where it came to rest, dB. */
            curve: components["schemas"]["Number"];
            /** @description How far the band falls short of it, dB. */
            short: components["schemas"]["Number"];
        };
        /** @description One size to cut. */
        Cut: {
            /** @description Numbers of the bays it is for. */
            cells: number[];
            /**
             * Format: int32
             * @description How many.
             */
            count: number;
            /** @description Along. */
            length: components["schemas"]["MeasuredLength"];
            /** @description A whole batt, neither ripped nor cut across. */
            whole: boolean;
            /** @description Across. */
            width: components["schemas"]["MeasuredLength"];
        };
        /** @description How one batt is cut. */
        CutLayout: {
            /** @description It lay there already. */
            from_hand: boolean;
            /** @description What is left, the largest first. */
            left_over: components["schemas"]["OffcutSize"][];
            /** @description Its parts. */
            placed: components["schemas"]["PlacedCut"][];
        };
        /** @description How batts are cut. */
        Cuts: {
            /**
             * Format: int32
             * @description The fewest that any way of cutting could do with.
             */
            fewest_possible: number;
            /**
             * Format: int32
             * @description Batts by plain first-fit decreasing.
             */
            first_fit: number;
            /** @description Batt by batt. */
            layouts: components["schemas"]["CutLayout"][];
            /** @description What to cut, the largest first. */
            list: components["schemas"]["Cut"][];
            /** @description The batt. */
            material: components["schemas"]["Called"] | null;
            /** @description How the plan was found. */
            method: string;
            /**
             * Format: int32
             * @description Batts by this plan.
             */
            pieces: number;
            /** @description No plan with such cuts takes fewer. */
            proven_best: boolean;
            /** @description Bays too narrow for a piece of their own. */
            slivers: number[];
            /**
             * Format: int32
             * @description Batts where every bay is cut from whole ones.
             */
            without_reuse: number;
        };
        /**
         * Format: date
         * @description A calendar day.
         * @example 2025-03-04
         */
        Day: string;
        /** @description Hours of one person on one day. */
        DayHours: {
            /** @description Hours. */
            hours: components["schemas"]["Decimal"];
            /** @description Who; null where nobody is named. */
            person: components["schemas"]["Called"] | null;
        };
        /** @description Why something is decided. */
        DecideBody: {
            /**
             * @description Why, for those who read it later.
             * @example lost on the way to the site
             */
            reason: string;
        };
        /**
         * @description A number with a decimal point, as text, so that no program rounds it.
         * @example 6.5
         */
        Decimal: string;
        /** @description One design and what it would give. */
        DesignRow: {
            /**
             * Format: double
             * @description Chance that the wanted change is claimed, 0 to 1.
             */
            chance: number;
            /** @description How close the change would be known, either way. */
            half_width: components["schemas"]["Number"];
            /**
             * Format: int64
             * @description Receive positions, the same before and after.
             */
            positions: number;
            /**
             * Format: int64
             * @description Readings in both states together.
             */
            readings: number;
            /**
             * Format: int64
             * @description Readings at each in each state.
             */
            repeats: number;
        };
        /** @description One device of the notebook. */
        Device: {
            /**
             * Format: int64
             * @description How many of them count.
             */
            counted: number;
            /**
             * Format: int64
             * @description Steps from the founding device in the tree of invitations.
             */
            depth: number;
            /**
             * Format: int64
             * @description How many of its changes are held here.
             */
            held: number;
            /** @description Its id. */
            id: components["schemas"]["Id"];
            /** @description Who invited it or vouched for it; the founding device itself. */
            invited_by: components["schemas"]["Id"];
            /** @description Whether it is no device, but a pass that lets a restored backup in. */
            is_pass: boolean;
            /** @description Whether it is the device that answers. */
            is_this: boolean;
            /** @description What people call it, where that is written. */
            label: string | null;
            /** @description When it asked this server last, since the server started. */
            last_seen: components["schemas"]["Moment"] | null;
            /** @description When its last change held here was written, by its own clock. */
            last_written: components["schemas"]["Moment"] | null;
            /** @description Who carries it. */
            person: components["schemas"]["Called"] | null;
            /**
             * Format: int64
             * @description How many may count, where it was revoked.
             */
            revoked_at: number | null;
            /** @description What it may do. */
            role: components["schemas"]["RoleName"];
        };
        /** @description What lets a device in. */
        DeviceKeyGiven: {
            /** @description When it ends, by the server's clock. */
            ends_at: components["schemas"]["Moment"];
            /**
             * @description To be sent as `Authorization: Bearer`.
             * @example q3Yw0vKcT5nXUeB1r8mZLg7JhP2dSaF6oRiCtWEyN9k
             */
            key: string;
            /** @description Now, by the server's clock. */
            server_time: components["schemas"]["Moment"];
        };
        /** @description The devices of the notebook. */
        Devices: {
            /** @description Each before those it invited; revoked ones stay listed. */
            devices: components["schemas"]["Device"][];
            /** @description Whether the device that answers may invite and revoke. */
            may_invite: boolean;
            /** @description What is kept and does not count. */
            set_aside: components["schemas"]["SetAside"][];
        };
        /** @description One thing two walls differ in. */
        Difference: {
            /** @description As this wall has it. */
            here: string;
            /** @description As the other has it. */
            there: string;
            /** @description What it is. */
            what: string;
            /** @description The same in words. */
            words: string;
        };
        /** @description What was paid for one division, tax counted. */
        DivisionSum: {
            /** @description The sum. */
            amount: components["schemas"]["Amount"];
            /** @description Its number; null for lines that name none. */
            division: string | null;
            /** @description Its title; null where the number has none. */
            title: string | null;
        };
        /** @description A position that holds nearly all the sound of a set. */
        Dominant: {
            /** @description Its label. */
            position: string;
            /** @description In words. */
            sentence: string;
            /** @description Label of the set. */
            set: string;
            /**
             * Format: double
             * @description Its share of the energy, 0 to 1.
             */
            share: number;
        };
        /** @description What someone wrote, to be taken as a whole or not at all. */
        DraftBody: {
            /** @description The person who wrote it; without it, the person of the session. */
            author?: components["schemas"]["Id"] | null;
            /** @description Value by value. A field of a record may stand there once. */
            writes: components["schemas"]["WriteBody"][];
            /** @description When it was written, by the writer's own clock. */
            written_at: components["schemas"]["Moment"];
        };
        /** @description What became of a draft. */
        DraftTaken: {
            /** @description The device that answered. */
            device: components["schemas"]["Id"];
            /** @description The draft. */
            draft: components["schemas"]["Id"];
            /** @description Whether it was new here. */
            new: boolean;
            /** @description The records it writes to, each once. */
            records: components["schemas"]["Touched"][];
            /**
             * Format: int64
             * @description Its number in the device's series; null when it was held already.
             */
            seq: number | null;
        };
        /** @description What laboratories and the model say of such walls. Neither is of a house. */
        Elsewhere: {
            /** @description What the model gives for A-weighted pink noise, dB. */
            model: components["schemas"]["Interval"] | null;
            /** @description Of the walls, or the walls after, dB. */
            published: components["schemas"]["Interval"] | null;
            /** @description Published ratings of the walls before, dB. */
            published_before: components["schemas"]["Interval"] | null;
            /** @description In words. */
            sentence: string;
        };
        /**
         * @description How a code ended.
         * @enum {string}
         */
        EndName: "used" | "voided" | "ran out" | "taken back";
        /** @description An invitation that is over. */
        EndedInvitation: {
            /** @description When it ended. */
            at: components["schemas"]["Moment"];
            /** @description The device that joined, by its id. */
            device: components["schemas"]["Id"] | null;
            /** @description How it ended. */
            end: components["schemas"]["EndName"];
            /** @description Whom it was meant for. */
            for: components["schemas"]["ForName"];
            /** @description Tells this invitation from another. */
            id: components["schemas"]["Id"];
            /** @description What they may do. */
            role: components["schemas"]["RoleName"];
        };
        /** @description One line of the day log. */
        Entry: {
            /** @description Its assembly. */
            assembly: components["schemas"]["Called"] | null;
            /** @description What a decision costs or saves. */
            cost_effect: components["schemas"]["Amount"] | null;
            /** @description Its day. */
            date: components["schemas"]["Day"] | null;
            /**
             * @description What kind of line: one of the choices of the field in `/api/kinds`.
             * @example work
             */
            entry_kind: string | null;
            /** @description Highest temperature of the day with its unit. */
            high: string | null;
            /** @description Hours lost by a delay. */
            hours_lost: components["schemas"]["Decimal"] | null;
            /** @description The entry. */
            id: components["schemas"]["Id"];
            /** @description Its job. */
            job: components["schemas"]["Called"] | null;
            /** @description Its short name. */
            label: string | null;
            /**
             * @description Lowest temperature of the day with its unit.
             * @example 38 °F
             */
            low: string | null;
            /** @description Outcome of an inspection. */
            outcome: string | null;
            /** @description Its room. */
            room: components["schemas"]["Called"] | null;
            /** @description Its site. */
            site: components["schemas"]["Called"] | null;
            /** @description What happened. */
            text: string | null;
            /** @description Rain, snow, wind. */
            weather: string | null;
        };
        /** @description Hours that belong to an entry. */
        EntryHours: {
            /** @description Hours; null where none are noted yet. */
            hours: components["schemas"]["Decimal"] | null;
            /** @description Who; null where nobody is named. */
            person: components["schemas"]["Called"] | null;
        };
        /** @description A page of the day log, newest day first. */
        EntryPage: {
            /** @description Entry by entry. */
            items: components["schemas"]["EntryRow"][];
            /** @description Where the next page begins; null on the last. */
            next: components["schemas"]["Cursor"] | null;
            /**
             * Format: int64
             * @description How many entries match on all pages.
             */
            total: number;
        };
        /** @description One line of the day log, with what belongs to it. */
        EntryRow: {
            /** @description Its assembly. */
            assembly: components["schemas"]["Called"] | null;
            /** @description What a decision costs or saves. */
            cost_effect: components["schemas"]["Amount"] | null;
            /** @description Its day. */
            date: components["schemas"]["Day"] | null;
            /**
             * @description What kind of line: one of the choices of the field in `/api/kinds`.
             * @example work
             */
            entry_kind: string | null;
            /** @description Highest temperature of the day with its unit. */
            high: string | null;
            /** @description Hours that belong to it. */
            hours: components["schemas"]["EntryHours"][];
            /** @description Hours lost by a delay. */
            hours_lost: components["schemas"]["Decimal"] | null;
            /** @description The entry. */
            id: components["schemas"]["Id"];
            /** @description Its job. */
            job: components["schemas"]["Called"] | null;
            /** @description Its short name. */
            label: string | null;
            /**
             * @description Lowest temperature of the day with its unit.
             * @example 38 °F
             */
            low: string | null;
            /** @description Outcome of an inspection. */
            outcome: string | null;
            /**
             * Format: int64
             * @description How many photos and files are pinned to it.
             */
            photos: number;
            /** @description Its room. */
            room: components["schemas"]["Called"] | null;
            /** @description Its site. */
            site: components["schemas"]["Called"] | null;
            /** @description What happened. */
            text: string | null;
            /** @description Rain, snow, wind. */
            weather: string | null;
        };
        /** @description A level difference or a change of it, dB. */
        Estimate: {
            /** @description Whether it is the value or a bound of it. */
            bound: components["schemas"]["Bound"];
            /** @description Rounded, as people see it; a change has its sign. */
            printed: string;
            /**
             * Format: double
             * @description Unrounded, dB.
             */
            value: number;
        };
        /** @description What filling came to. */
        ExampleTaken: {
            /**
             * Format: int64
             * @description Rows that are in.
             */
            rows: number;
        };
        /** @description Level differences of one family of walls. */
        FamilyPool: {
            /** @description The family, in words. */
            family: string;
            /**
             * Format: int64
             * @description How many jobs.
             */
            jobs: number;
            /** @description Whether an opening limits them. */
            opening_limited: boolean;
            /** @description Level difference by level difference. */
            rows: components["schemas"]["LevelRow"][];
            /** @description State of the work. */
            state: string;
            /** @description Weighting of the readings. */
            unit: string | null;
            /** @description What they say together, in words. */
            words: string;
        };
        /** @description One field of a kind. */
        FieldKind: {
            /** @description The words it takes, for a choice. */
            choices: string[] | null;
            /** @description What it is for. */
            doc: string;
            /**
             * Format: int64
             * @description Most letters, for a text.
             */
            letters: number | null;
            /** @description Its name. */
            name: string;
            /** @description The kind a reference points to; null where any kind will do. */
            of: string | null;
            /** @description Whether changing a value that stands needs a reason. */
            reason_on_change: boolean;
            /** @description Whether a record without it is incomplete. */
            required: boolean;
            /** @description What it takes, in a word: `text`, `choice`, `date`, `reference`, ... */
            takes: string;
        };
        /** @description What stands in one field. */
        FieldValue: {
            /** @description Whether several values stand; the one shown is the latest. */
            conflict: boolean;
            /** @description Whether the value was corrected with a reason. */
            corrected: boolean;
            /** @description The writes that stand: what a form that shows the field names as `seen`. */
            heads: components["schemas"]["Head"][];
            /** @description The record a reference points to. */
            record: components["schemas"]["Called"] | null;
            /** @description As people read it: a reference by its short name, all else as its value. */
            shown: string | null;
            /** @description To be typed back as it is; the id for a reference; null where the field was cleared. */
            value: string | null;
        };
        /** @description A change in short. */
        Figure: {
            /** @description The change, dB. */
            change: components["schemas"]["Estimate"] | null;
            /** @description Whether it may be claimed. */
            claim: components["schemas"]["Claim"];
            /** @description How good the comparison was. */
            grade: components["schemas"]["Letter"];
            /** @description Its interval, dB. */
            interval: components["schemas"]["Interval"] | null;
        };
        /** @description A file that was kept. */
        FileKept: {
            /**
             * Format: int64
             * @description Its size, bytes.
             */
            bytes: number;
            /** @description Its content's hash, by which it is called from now on. */
            hash: components["schemas"]["Hash"];
        };
        /** @description How the content of a file stands on this device. */
        FileStanding: {
            /**
             * Format: int64
             * @description Its size, where that is known.
             */
            bytes: number | null;
            /** @description Its hash. */
            hash: components["schemas"]["Hash"];
            /**
             * Format: int64
             * @description How many of its bytes are here, in whole parts.
             */
            held_bytes: number;
            /** @description How it stands. */
            state: components["schemas"]["FileState"];
            /** @description Whether this device would take it: it is not here whole, and is not left until somebody opens it. */
            wanted: boolean;
        };
        /** @description How files stand on this device. */
        FileStandings: {
            /** @description File by file, in the order asked; those that no record here names are left out. */
            files: components["schemas"]["FileStanding"][];
        };
        /**
         * @description How the content of a file stands on a device.
         * @enum {string}
         */
        FileState: "here" | "missing" | "arriving" | "damaged";
        /** @description Files another device has, or misses. */
        FilesOffered: {
            /** @description Their hashes, at most 1,000. */
            hashes: components["schemas"]["Hash"][];
        };
        /** @description One thing an answer can be narrowed by. */
        Filter: {
            /** @description Which. */
            name: components["schemas"]["FilterName"];
            /** @description As a heading. */
            title: string;
            /** @description Its values, most records first. */
            values: components["schemas"]["FilterValue"][];
        };
        /**
         * @description What an answer can be narrowed by.
         * @enum {string}
         */
        FilterName: "kind" | "site" | "fill" | "frame" | "state" | "grade" | "year";
        /** @description One value an answer can be narrowed to. */
        FilterValue: {
            /**
             * Format: int64
             * @description How many records it would leave.
             */
            count: number;
            /** @description Whether it was chosen. */
            is_chosen: boolean;
            /** @description As it is asked for. */
            value: string;
            /** @description In words. */
            words: string;
        };
        /** @description A result in short. */
        FindingInShort: {
            /** @description The verdict in a word; null for a level difference. */
            claim: components["schemas"]["Claim"] | null;
            /** @description How good the comparison was. */
            grade: components["schemas"]["Letter"] | null;
            /** @description Its interval, dB. */
            interval: components["schemas"]["Interval"] | null;
            /** @description Whether it may be claimed as a number or a lower bound; a level difference claims nothing. */
            is_claimed: boolean;
            /**
             * Format: int64
             * @description Jobs in which such a wall was measured, this one counted.
             */
            jobs: number;
            /** @description What it is of. */
            measure: components["schemas"]["FoundMeasure"];
            /** @description Weighting of the readings. */
            unit: string | null;
            /** @description The number, dB. */
            value: components["schemas"]["Estimate"];
            /** @description The same in words. */
            words: string;
        };
        /** @description How a device goes on. */
        FinishBody: {
            /** @description The id it made for itself. */
            device: components["schemas"]["Id"];
            /** @description The exchange that was begun. */
            exchange: string;
            /** @description Its public key, hexadecimal. */
            key: components["schemas"]["Hash"];
            /**
             * @description What people call it; another where one is called that already.
             * @example tablet
             */
            label: string;
            /** @description Now, by its own clock. */
            now: components["schemas"]["Moment"];
            /** @description Proves that it knows the code, hexadecimal. */
            proof: components["schemas"]["Hash"];
        };
        /** @description The first state measured again. */
        FirstAgain: {
            /** @description Label of the set that repeats it. */
            again: string;
            /** @description Again less first, dB. */
            difference: components["schemas"]["Number"];
            /** @description Label of the first set. */
            first: string;
            /** @description Whether it held. */
            held: boolean;
        };
        /** @description Something a reader has to know about a set or a change. */
        Flag: {
            /** @description The one effect it has on results, in words. */
            effect: string;
            /** @description Which. */
            flag: components["schemas"]["FlagName"];
            /** @description What was seen, in words. */
            words: string;
        };
        /**
         * @description What is odd about a set or a comparison.
         * @enum {string}
         */
        FlagName: "reading-corrected" | "event-cut-out" | "recording-lossy" | "single-run" | "missing-position" | "background-not-measured" | "position-outlier" | "furniture-differs" | "background-low-margin" | "condition-drift" | "weighting-mixed" | "response-mixed" | "track-differs" | "level-differs" | "calibration-drift" | "recording-clipped" | "recording-reused" | "background-louder" | "state-differs" | "openings-differ" | "in-conflict" | "opening-limited";
        /**
         * @description Whom a code lets in.
         * @enum {string}
         */
        ForName: "device" | "browser";
        /** @description What a question finds. */
        Found: {
            /** @description Whether each hit has all that was asked for; else each has some of the words. */
            all_words_matched: boolean;
            /** @description The question as it was typed. */
            asked: string;
            /** @description What it can be narrowed by. */
            filters: components["schemas"]["Filter"][];
            /** @description Kind by kind. */
            groups: components["schemas"]["HitGroup"][];
            /** @description Said while the index is made anew and older answers stand. */
            making: string | null;
            /** @description What to know about the answer. */
            notes: string[];
            /** @description How it was understood, part by part. */
            parts: components["schemas"]["Part"][];
            /** @description The order within each kind. */
            sort: components["schemas"]["SortWord"];
            /**
             * Format: int64
             * @description How many records there are.
             */
            total: number;
        };
        /** @description A condition as found in one set. */
        FoundIn: {
            /** @description As found; null where nobody noted it. */
            found: components["schemas"]["Record"] | null;
            /** @description The set. */
            set: components["schemas"]["Called"];
        };
        /**
         * @description What a result is of.
         * @enum {string}
         */
        FoundMeasure: "change" | "level-difference";
        /** @description One wall of the assembly. */
        FramedWall: {
            /** @description Between the plates. */
            cavity_height: components["schemas"]["MeasuredLength"];
            /**
             * Format: int32
             * @description Short studs over and under openings.
             */
            cripple_studs: number;
            /**
             * Format: int32
             * @description Frames one behind another.
             */
            frames: number;
            /**
             * Format: int32
             * @description Undivided bays of full height.
             */
            full_height_bays: number;
            /** @description Plates included. */
            height: components["schemas"]["MeasuredLength"];
            /** @description From end to end. */
            length: components["schemas"]["MeasuredLength"];
            /**
             * Format: int32
             * @description Rough openings.
             */
            openings: number;
        };
        /** @description How good a comparison was. */
        Grade: {
            /** @description The worst of the rows. */
            letter: components["schemas"]["Letter"];
            /** @description Why it is not better, in words. */
            reasons: string[];
            /** @description Every row. */
            rows: components["schemas"]["GradeRow"][];
        };
        /** @description One row a grade was made from. */
        GradeRow: {
            /** @description Its letter. */
            letter: components["schemas"]["Letter"];
            /** @description What was judged. */
            name: string;
            /** @description Why. */
            why: string;
        };
        /** @description Which device serves, and its proof. */
        Greeting: {
            /** @description To be signed and handed back within a minute, once: 96 digits. */
            challenge: string;
            /** @description The device that serves. */
            device: components["schemas"]["Id"];
            /** @description Ed25519 signature by the serving device's key, 128 digits. */
            proof: string;
        };
        /** @description Who a device is, to be answered by a proof of who the server is. */
        GreetingBody: {
            /** @description The device. */
            device: components["schemas"]["Id"];
            /**
             * @description 32 random bytes, 64 digits: the server's proof holds for them alone.
             * @example 7d5a0c3ef2b94e6b8a1c6f0d93e27b45c8f1a6d20b7e3945f6a8c1d2e3b40596
             */
            nonce: string;
            /** @description The notebook the device keeps. */
            notebook: components["schemas"]["Id"];
        };
        /** @description The sets of one direction and weighting. */
        Group: {
            /** @description The changes from set to set. */
            changes: components["schemas"]["Change"][];
            /** @description Which way the sound went, in words. */
            direction: string;
            /** @description The last set less the first of the same assembly, dB. */
            drift: components["schemas"]["Number"] | null;
            /** @description The change from the first to the last set. */
            headline: components["schemas"]["Change"] | null;
            /** @description Level differences on the shared positions, where the sets do not have the same. */
            on_shared_positions: components["schemas"]["OnShared"] | null;
            /** @description Its sets, oldest first. */
            sets: components["schemas"]["SetFinding"][];
            /** @description Weighting of the readings. */
            unit: string | null;
        };
        /** @description What was paid for one group of cost, tax counted. */
        GroupSum: {
            /** @description The sum. */
            amount: components["schemas"]["Amount"];
            /** @description The group, as lines of receipts name it. */
            group: string;
        };
        /**
         * @description A BLAKE3 hash, which names the content of a file.
         * @example af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262
         */
        Hash: string;
        /**
         * @description One write, by the id of its draft and its place in it, counted from 0. A form names in `seen` the writes it showed.
         * @example 01968e4a-f800-7fd3-98ef-7741359027e6/1
         */
        Head: string;
        /** @description How the server is. */
        Health: {
            /**
             * Format: int64
             * @description Number of the last change held.
             */
            changes: number;
            /**
             * @description Which database this is: another one after a restore.
             * @example 5f0c9a1e
             */
            instance: string;
            /** @description What a person should look at on the server's computer; mostly nothing. */
            look: components["schemas"]["HealthMark"][];
            /**
             * @description Always `ready`: otherwise there is no answer, or a refusal.
             * @example ready
             */
            state: string;
        };
        /** @description What a person should look at on the server's computer. */
        HealthMark: {
            /**
             * @description What it is, for programs.
             * @example clock-before-2020
             */
            code: string;
            /** @description What to do next. */
            next: string;
            /** @description What it is, in words. */
            words: string;
        };
        /** @description How long a level may be borne: guidance, not a clearance. */
        Hearing: {
            /** @description The loudest source reading, dBA. */
            level: components["schemas"]["Number"];
            /** @description Hours a day by the limit NIOSH recommends. */
            niosh_hours: components["schemas"]["Number"];
            /** @description Hours a day by the limit of OSHA; absent below what it counts. */
            osha_hours: components["schemas"]["Number"] | null;
            /** @description In words, with the caution. */
            words: string;
        };
        /** @description What was written on a record. */
        History: {
            /** @description What was changed in its parts. */
            changed_parts: components["schemas"]["ChangedPart"][];
            /** @description The record. */
            record: components["schemas"]["Called"];
            /** @description Write by write, oldest first. */
            steps: components["schemas"]["Step"][];
        };
        /** @description A record that was found. */
        Hit: {
            /** @description What was achieved, in a sentence or two. */
            achieved: string | null;
            /** @description How it is built, in a few words: only of walls. */
            built: string | null;
            /** @description What the job cost, or what the receipt says. */
            cost: components["schemas"]["Amount"] | null;
            /** @description Its day. */
            date: components["schemas"]["Day"] | null;
            /** @description Its result in short. */
            finding: components["schemas"]["FindingInShort"] | null;
            /** @description Whether it stands apart because its result may not be claimed; only where sorted by reduction. */
            is_apart: boolean;
            /** @description Whether it is of a bench rig, which rates no wall. */
            is_bench: boolean;
            /** @description Its job. */
            job: components["schemas"]["Called"] | null;
            /** @description Cost of a square foot of its job. */
            per_ft2: components["schemas"]["Amount"] | null;
            /** @description The record. */
            record: components["schemas"]["Called"];
            /** @description Its site. */
            site: components["schemas"]["Called"] | null;
            /** @description Where the words stand; null where they stand in the title, or no words were asked for. */
            snippet: components["schemas"]["Piece"][] | null;
            /** @description What it is called in the index, with what was looked for marked. */
            title: components["schemas"]["Piece"][];
        };
        /** @description What was found of one kind. */
        HitGroup: {
            /**
             * Format: int64
             * @description How many there are.
             */
            count: number;
            /** @description A page of them. */
            hits: components["schemas"]["Hit"][];
            /** @description The kind. */
            kind: string;
            /**
             * Format: int64
             * @description How many stand behind this page.
             */
            more: number;
            /** @description Where the next page of this kind begins. */
            next: components["schemas"]["Cursor"] | null;
            /** @description The kind as a heading. */
            title: string;
        };
        /**
         * Format: uuid
         * @description The id of a record, made where it was first written down.
         * @example 01955e73-c400-7201-a36d-396cbc6abe48
         */
        Id: string;
        /** @description A field with several values. */
        InConflict: {
            /** @description The field. */
            field: string;
            /** @description Whether picking one needs a reason. */
            needs_reason: boolean;
            /** @description The record. */
            record: components["schemas"]["Called"];
            /** @description What a write that settles it has seen: all of these. */
            seen: components["schemas"]["Head"][];
            /** @description The values that stand, the one shown first. */
            values: components["schemas"]["Step"][];
        };
        /** @description The same number in the unit the crew typed its readings in. */
        InTyped: {
            /** @description Its interval. */
            interval: components["schemas"]["Interval"] | null;
            /** @description The unit: `°F`, `cfm`, `cfm/ft2`, `in2`. */
            unit: string;
            /** @description The number. */
            value: components["schemas"]["Number"];
        };
        /** @description An interval at 95 %, in the unit of what it belongs to, mostly dB. */
        Interval: {
            /**
             * Format: double
             * @description Upper end, unrounded.
             */
            high: number;
            /**
             * Format: double
             * @description Lower end, unrounded.
             */
            low: number;
            /** @description Both ends, as people see them. */
            printed: string;
        };
        /** @description What is out: one invitation at a time. */
        Invitations: {
            /** @description What became of the last one since the server started. */
            last: components["schemas"]["EndedInvitation"] | null;
            /** @description The one that is out. */
            out: components["schemas"]["Outstanding"] | null;
        };
        /** @description Whom to let in. */
        InviteBody: {
            /** @description Whom the code lets in. */
            for: components["schemas"]["ForName"];
            /**
             * @description What it will be called; without it, what it calls itself.
             * @example tablet
             */
            label?: string;
            /**
             * @description The person who works there, by label or id; without it, the person who invites.
             * @example helper
             */
            person?: string;
            /** @description What they may do. */
            role: components["schemas"]["RoleName"];
        };
        /** @description An invitation with its code, which is shown this once. */
        Invited: {
            /**
             * @description What lets one in, once.
             * @example 7KQ2-M9XD
             */
            code: string;
            /** @description What to type on the device that joins; null for a browser. */
            command: string | null;
            /** @description Until when it is good. */
            ends_at: components["schemas"]["Moment"];
            /** @description Whom it lets in. */
            for: components["schemas"]["ForName"];
            /** @description Tells this invitation from another. */
            id: components["schemas"]["Id"];
            /** @description The address of a browser as a picture for its camera, SVG; null for a device. */
            qr: string | null;
            /** @description What they may do. */
            role: components["schemas"]["RoleName"];
            /**
             * @description The address to go to; a browser's carries the code behind the `#`, which no server logs.
             * @example https://box.local:8417/#code=7KQ2-M9XD
             */
            url: string;
            /** @description What stands in the way, in words; null where nothing is known to. */
            warning: string | null;
        };
        /** @description What a job cost. */
        JobCost: {
            /** @description Paid on receipts, by division. */
            divisions: components["schemas"]["DivisionSum"][];
            /** @description Paid on receipts, by group. */
            groups: components["schemas"]["GroupSum"][];
            /** @description The job. */
            jobs: components["schemas"]["Called"][];
            /** @description Its money. */
            money: components["schemas"]["JobMoney"];
            /** @description Total less the estimate; null without one. */
            over_estimate: components["schemas"]["Amount"] | null;
            /** @description The same in percent of the estimate. */
            over_estimate_percent: components["schemas"]["Decimal"] | null;
        };
        /** @description What a job shows, and what it cost. */
        JobFinding: {
            /** @description Bench rigs. */
            bench_rig: components["schemas"]["BenchFinding"][];
            /** @description Rebuilds measured both ways. */
            both_ways: components["schemas"]["BothWays"][];
            /** @description By test and direction. */
            groups: components["schemas"]["JobGroup"][];
            /** @description The job. */
            id: components["schemas"]["Id"];
            /** @description Always `job`. */
            kind: components["schemas"]["OfJob"];
            /** @description Its label. */
            label: string;
            /** @description What it cost. */
            money: components["schemas"]["JobMoney"];
            /** @description Tests of other quantities than sound. */
            quantity: components["schemas"]["QuantityFinding"][];
            /** @description What it shows, in sentences. */
            sentences: string[];
            /** @description The sets taken in it, oldest first. */
            sets: components["schemas"]["SetFinding"][];
            /** @description Surface temperatures, smoke and moisture of such tests by state. */
            thermal: components["schemas"]["ThermalFinding"][];
            /** @description Its title. */
            title: string;
            /** @description What its result cost. */
            worth: components["schemas"]["Worth"] | null;
        };
        /** @description What a job shows in one test and direction. */
        JobGroup: {
            /** @description Which way the sound went, in words. */
            direction: string;
            /** @description Level differences on the shared positions, where the sets do not have the same. */
            on_shared_positions: components["schemas"]["SharedLevel"][];
            /** @description Sets that are out of results. */
            out: components["schemas"]["SetOut"][];
            /** @description The change within this job. */
            own: components["schemas"]["Change"] | null;
            /** @description The change of each step. */
            steps: components["schemas"]["Change"][];
            /** @description The test. */
            test: components["schemas"]["Called"];
            /** @description The change from before the jobs that this one went on from. */
            with_jobs_before: components["schemas"]["Change"] | null;
        };
        /** @description One job's money, tax counted. */
        JobMoney: {
            /** @description Wall of the job, ft². */
            area_ft2: components["schemas"]["Number"] | null;
            /** @description Wall of the job, m². */
            area_m2: components["schemas"]["Number"] | null;
            /** @description Disposal. */
            disposal: components["schemas"]["Amount"];
            /** @description What it was expected to cost. */
            estimate: components["schemas"]["Amount"] | null;
            /** @description Hours by person. */
            hours: components["schemas"]["PersonHours"][];
            /** @description The job; null for what is booked to none, and for the sum. */
            job: components["schemas"]["Called"] | null;
            /** @description Labour. */
            labour: components["schemas"]["Amount"];
            /** @description What is left over, at cost. */
            left_in_stock: components["schemas"]["Amount"];
            /** @description Material, returns taken off. */
            material: components["schemas"]["Amount"];
            /** @description Material that came from other jobs, at cost. */
            moved_in: components["schemas"]["Amount"];
            /** @description Material that went to other jobs, at cost. */
            moved_out: components["schemas"]["Amount"];
            /** @description The total less what is left over. */
            net: components["schemas"]["Amount"];
            /** @description Tools, testing, travel, overhead, credits. */
            other: components["schemas"]["Amount"];
            /** @description Cost of a square foot of wall. */
            per_ft2: components["schemas"]["Amount"] | null;
            /** @description Cost of a square metre of wall. */
            per_m2: components["schemas"]["Amount"] | null;
            /** @description Permits. */
            permit: components["schemas"]["Amount"];
            /** @description Rental. */
            rental: components["schemas"]["Amount"];
            /** @description Subcontracts. */
            subcontract: components["schemas"]["Amount"];
            /** @description All of it. */
            total: components["schemas"]["Amount"];
        };
        /** @description What one job cost for each square metre. */
        JobPrice: {
            /** @description Label of the job. */
            label: string;
            /** @description Net cost of a square metre treated. */
            per_m2: components["schemas"]["Price"];
        };
        /** @description One job in full. */
        JobSheet: {
            /** @description Last day. */
            finished: components["schemas"]["Day"] | null;
            /** @description What the job asks or promises. */
            goal: string | null;
            /** @description The job. */
            job: components["schemas"]["Called"];
            /** @description What is left over. */
            left_over: components["schemas"]["StockRow"][];
            /** @description What to look at, in this job. */
            marks: components["schemas"]["Mark"][];
            /** @description What it cost. */
            money: components["schemas"]["JobMoney"];
            /** @description Anything else. */
            note: string | null;
            /** @description The sets taken in it, oldest first. */
            sets: components["schemas"]["SetFinding"][];
            /** @description Its site. */
            site: components["schemas"]["Called"] | null;
            /** @description First day. */
            started: components["schemas"]["Day"] | null;
            /** @description Its tasks. */
            tasks: components["schemas"]["Task"][];
        };
        /** @description Every job's money with the sum, and what results cost. */
        JobsTable: {
            /** @description Job by job. */
            jobs: components["schemas"]["JobMoney"][];
            /** @description What is booked to no job. */
            not_booked: components["schemas"]["JobMoney"];
            /** @description All of it. */
            sum: components["schemas"]["JobMoney"];
            /** @description What was gained for it. A job that another went on from stands in that one's row. */
            worth: components["schemas"]["Worth"][];
        };
        /** @description The first answer to a device that wants to join. */
        JoinStarted: {
            /**
             * @description Names this exchange.
             * @example 8f1c0a6be2d94f6ab51cf3d27a90e4c8
             */
            exchange: string;
            /** @description The server's half of the proof, hexadecimal. */
            message: string;
        };
        /** @description What a device needs to make its copy. */
        JoinedDevice: {
            /** @description Certificate of the server's own authority, PEM; null where it has none. */
            ca: string | null;
            /** @description Where the clocks are far apart: both. */
            clock: components["schemas"]["ClockDiffers"] | null;
            /** @description The device that answers. */
            device: components["schemas"]["Id"];
            /** @description Public key of its founding device, hexadecimal. */
            founder_key: components["schemas"]["Hash"];
            /** @description What the new device is called. */
            label: string;
            /** @description Its name. */
            name: string;
            /** @description The notebook. */
            notebook: components["schemas"]["Id"];
            /** @description The person who works at the new device. */
            person: components["schemas"]["Id"];
            /** @description Proves that the answer comes from one who knows the code, hexadecimal. */
            proof: components["schemas"]["Hash"];
            /** @description What the new device may do. */
            role: components["schemas"]["RoleName"];
        };
        /** @description One kind of thing that is not told. */
        KeptBack: {
            /** @description How many there are. */
            count: number;
            /** @description The kind. */
            what: string;
        };
        /** @description What lets a browser in: a key or a code. */
        KeyBody: {
            /**
             * @description The one-time code that a keeper was shown; case, dash and blanks do not matter.
             * @example 7KQ2-M9XD
             */
            code?: string;
            /**
             * @description The one-time key, from the address that `storypole serve` printed.
             * @example q3Yw0vKcT5nXUeB1r8mZLg7JhP2dSaF6oRiCtWEyN9k
             */
            key?: string;
            /**
             * @description What people call this browser; without it, what the one who invited said.
             * @example helper's phone
             */
            label?: string;
        };
        /** @description One kind of record. */
        Kind: {
            /** @description What it is. */
            doc: string;
            /** @description Its fields, in the order of a form. */
            fields: components["schemas"]["FieldKind"][];
            /** @description Its name. */
            name: string;
        };
        /** @description Every kind of record. */
        Kinds: {
            /** @description Kind by kind. */
            kinds: components["schemas"]["Kind"][];
        };
        /**
         * @description What a row of the layers is.
         * @enum {string}
         */
        LayerKind: "board" | "cavity" | "channel" | "clips" | "studs" | "fill";
        /**
         * @description How good a comparison was; the worst row decides.
         * @enum {string}
         */
        Letter: "A" | "B" | "C" | "D";
        /** @description One level difference in a table. */
        LevelRow: {
            /** @description Label of the assembly. */
            assembly: string;
            /** @description Which way the sound went, in words. */
            direction: string;
            /** @description Label of the job. */
            job: string;
            /** @description Level difference, dB. */
            level_difference: components["schemas"]["Estimate"];
            /** @description Label of the set. */
            set: string;
        };
        /**
         * @description The line of a table a result stands in.
         * @enum {string}
         */
        Line: "main" | "second" | "never pooled";
        /** @description How many records of a kind point to a record. */
        Linked: {
            /**
             * Format: int64
             * @description How many.
             */
            count: number;
            /** @description Their kind. */
            kind: string;
        };
        /** @description Something computed that a person should look at. */
        Mark: {
            /** @description The record it is about. */
            about: components["schemas"]["Called"];
            /** @description Which kind. */
            mark: components["schemas"]["MarkName"];
            /** @description What to do next, in words. */
            next_step: string;
            /** @description What is seen, in words. */
            words: string;
        };
        /**
         * @description Which kind of mark.
         * @enum {string}
         */
        MarkName: "receipt-does-not-add-up" | "stock-below-zero" | "move-more-than-there-is" | "packs-not-sealed" | "count-differs" | "use-before-purchase" | "not-booked" | "not-counted" | "hours-over-day" | "condition-changed" | "set-room-differs" | "write-up-stale" | "conflict" | "incomplete";
        /** @description What to look at in the whole notebook. */
        Marks: {
            /** @description Mark by mark. */
            marks: components["schemas"]["Mark"][];
        };
        /**
         * @description Where a mass comes from.
         * @enum {string}
         */
        MassFrom: "written" | "table";
        /**
         * @description Which of the two tables.
         * @enum {string}
         */
        MeasureWord: "change" | "level-difference";
        /** @description A length. */
        MeasuredLength: {
            /** @description In millimetres. */
            mm: components["schemas"]["Number"];
            /** @description As it is called out on site: inches where they are on a tape, else millimetres. */
            printed: string;
        };
        /**
         * @description What a test measures, other than sound.
         * @enum {string}
         */
        Measures: "air-leakage" | "thermal" | "thermal-resistance" | "temperature" | "moisture" | "light" | "other";
        /**
         * Format: date-time
         * @description A moment by the writer's own clock, with the writer's offset.
         * @example 2025-03-04T17:10:00-05:00
         */
        Moment: string;
        /** @description What a device is called. */
        NameBody: {
            /**
             * @description Its short name.
             * @example tablet
             */
            label: string;
            /**
             * @description Who carries it, by label or id; without it, that stays as it is.
             * @example helper
             */
            person?: string;
        };
        /** @description How much of one material is needed. */
        Need: {
            /** @description Units at the site of the job. */
            at_hand: components["schemas"]["Decimal"];
            /** @description What lies elsewhere. */
            elsewhere: string | null;
            /** @description Units before waste and rounding. */
            exact: components["schemas"]["Number"];
            /** @description How it was counted. */
            how: string;
            /** @description The material; null where none of the notebook is meant for sure. */
            material: components["schemas"]["Called"] | null;
            /** @description What it is called. */
            name: string;
            /** @description The name of a pack; null where it is not sold in packs. */
            pack: string | null;
            /**
             * Format: int32
             * @description Packs to buy.
             */
            packs: number | null;
            /** @description For what. */
            part: components["schemas"]["NeedPart"];
            /** @description What they cost at the price paid last, with tax. */
            price: components["schemas"]["Amount"] | null;
            /** @description Units beyond those. */
            to_buy: components["schemas"]["Decimal"];
            /** @description The unit it is counted in. */
            unit: string;
            /** @description Units with waste. */
            wanted: components["schemas"]["Decimal"];
        };
        /**
         * @description What a material is for.
         * @enum {string}
         */
        NeedPart: "batts" | "loose-fill" | "boards" | "screws" | "tape" | "damping" | "channel" | "sealant";
        /** @description What to test next. */
        Next: {
            /** @description Best first. */
            candidates: components["schemas"]["NextTest"][];
            /** @description The answer in words. */
            sentence: string;
        };
        /**
         * @description What kind of test is meant.
         * @enum {string}
         */
        NextKind: "before-it-is-closed" | "before-it-changes" | "first-state-again" | "after" | "begin" | "in-quiet" | "out-again" | "pair" | "another-house";
        /** @description A test that could come next. */
        NextTest: {
            /** @description The wall it is about. */
            assembly: components["schemas"]["Called"] | null;
            /** @description Information gained, nats. */
            information: components["schemas"]["Number"] | null;
            /** @description The job it belongs to. */
            job: components["schemas"]["Called"] | null;
            /** @description What kind. */
            kind: components["schemas"]["NextKind"];
            /** @description How close the average or difference is known now, dB either way. */
            known_within: components["schemas"]["Number"] | null;
            /** @description The same after the test. */
            known_within_after: components["schemas"]["Number"] | null;
            /** @description Minutes it takes. */
            minutes: components["schemas"]["Number"];
            /** @description Whether an opening limits such walls. */
            opening_limited: boolean;
            /**
             * Format: int64
             * @description Readings it takes.
             */
            readings: number;
            /** @description In words. */
            sentence: string;
            /** @description The test whose positions and conditions it follows. */
            test: components["schemas"]["Called"] | null;
            /** @description Whether it cannot be made up for later. */
            urgent: boolean;
            /** @description What such a wall last cost, where a new one is needed. */
            wall_cost: components["schemas"]["Amount"] | null;
            /** @description What to do, in a few words. */
            what: string;
            /** @description The same in money. */
            worth: components["schemas"]["Amount"] | null;
            /** @description What it is worth for a choice between two, dB. */
            worth_db: components["schemas"]["Number"] | null;
        };
        /** @description Sets that do not count, and why. */
        NotCounted: {
            /** @description Why. */
            because: string;
            /** @description Their job. */
            job: components["schemas"]["Called"] | null;
            /** @description Labels of the sets. */
            sets: string[];
        };
        /** @description A computed number. Its unit stands with the member that holds it. */
        Number: {
            /** @description Rounded, as people see it; a change has its sign. */
            printed: string;
            /**
             * Format: double
             * @description Unrounded, for computing on.
             */
            value: number;
        };
        /** @description A position that changed unlike the others. It stays in until a person with a reason takes it out. */
        OddPosition: {
            /** @description What it changed, dB. */
            change: components["schemas"]["Number"];
            /** @description How far that is from the middle one of all, dB. */
            off_the_others: components["schemas"]["Number"];
            /** @description Its label. */
            position: string;
            /** @description In words. */
            sentence: string;
            /** @description The change with it. */
            with_it: components["schemas"]["ChangeLine"];
            /** @description The change without it. */
            without_it: components["schemas"]["ChangeLine"];
        };
        /** @description Something a reader has to know about a state. */
        Oddity: {
            /** @description The one effect it has on changes of the state, in words. */
            effect: string;
            /** @description Which. */
            flag: components["schemas"]["OddityName"];
            /** @description What was seen, in words. */
            words: string;
        };
        /**
         * @description What is odd about a state.
         * @enum {string}
         */
        OddityName: "few-points" | "single-point" | "exponent-odd" | "poor-fit" | "resting-pressure" | "windy" | "small-difference" | "run-not-ended" | "sparse-readings" | "wet-wood" | "sky-not-noted" | "other-sky" | "reading-left-out" | "dates-odd";
        /**
         * @description Tells an assembly's finding from others.
         * @enum {string}
         */
        OfAssembly: "assembly";
        /** @description Jobs of one kind of fill within a kind of wall. */
        OfFill: {
            /** @description Their average. */
            average: components["schemas"]["Average"];
            /** @description The fill, or what it was and became. */
            fill: string;
            /**
             * Format: int64
             * @description How many jobs.
             */
            jobs: number;
            /** @description In one sentence. */
            sentence: string;
        };
        /**
         * @description Tells a job's finding from others.
         * @enum {string}
         */
        OfJob: "job";
        /**
         * @description Tells a set's finding from others.
         * @enum {string}
         */
        OfSet: "set";
        /**
         * @description Tells a test's finding from others.
         * @enum {string}
         */
        OfTest: "test";
        /** @description A rectangle that is left of a batt. */
        OffcutSize: {
            /** @description Along. */
            length: components["schemas"]["MeasuredLength"];
            /** @description Across. */
            width: components["schemas"]["MeasuredLength"];
        };
        /** @description What a small panel shows of two sides. */
        OnBench: {
            /** @description First less second, dB. */
            difference: components["schemas"]["Number"];
            /**
             * Format: int64
             * @description Index of the side that did better.
             */
            first: number;
            /** @description Its interval, dB. */
            interval: components["schemas"]["Interval"] | null;
            /**
             * Format: int64
             * @description Index of the other.
             */
            second: number;
            /** @description In words. */
            sentence: string;
            /** @description Label of the test. */
            test: string;
            /** @description Whether they can be told apart. */
            told_apart: boolean;
        };
        /** @description Level differences on the positions that all sets have. */
        OnShared: {
            /** @description The positions, by label. */
            positions: string[];
            /** @description Set by set. */
            sets: components["schemas"]["OnSharedSet"][];
        };
        /** @description A set's level difference on the positions that all sets have. */
        OnSharedSet: {
            /** @description Its label. */
            label: string;
            /** @description Level difference on the shared positions, dB. */
            level_difference: components["schemas"]["Estimate"];
            /** @description The set. */
            set: components["schemas"]["Id"];
        };
        /** @description What one opening lets through. */
        OpeningPath: {
            /** @description Its area, m². */
            area_m2: components["schemas"]["Number"];
            /** @description Its typical loss, dB. */
            loss: components["schemas"]["Number"];
            /** @description Where the loss comes from. */
            loss_source: string;
            /** @description The share, as people see it. */
            printed: string;
            /**
             * Format: double
             * @description Its share of the sound, 0 to 1.
             */
            share: number;
            /** @description The opening, in words. */
            words: string;
        };
        /** @description An invitation that is out, without its code. */
        Outstanding: {
            /** @description Until when it is good. */
            ends_at: components["schemas"]["Moment"];
            /** @description Whom it lets in. */
            for: components["schemas"]["ForName"];
            /** @description Tells this invitation from another. */
            id: components["schemas"]["Id"];
            /** @description What it will be called, where the one who invited said so. */
            label: string | null;
            /**
             * Format: int64
             * @description Wrong tries that void it.
             */
            most_wrong_tries: number;
            /** @description The person who works there. */
            person: components["schemas"]["Called"];
            /** @description What they may do. */
            role: components["schemas"]["RoleName"];
            /**
             * Format: int64
             * @description Wrong tries so far.
             */
            wrong_tries: number;
        };
        /** @description Two sides against each other. */
        Pair: {
            /** @description What kept it from more. */
            because: string[];
            /** @description How the true difference stands to it. */
            bound: components["schemas"]["Bound"];
            /** @description What the first costs more. */
            cost: components["schemas"]["PairCost"] | null;
            /** @description The difference. */
            difference: components["schemas"]["Contrast"] | null;
            /**
             * Format: int64
             * @description Index of the side that came out better.
             */
            first: number;
            /**
             * Format: int64
             * @description Index of the other.
             */
            second: number;
            /** @description In words. */
            sentence: string;
            /** @description The verdict on the first. */
            verdict: components["schemas"]["Verdict"];
        };
        /** @description What the first side costs more. */
        PairCost: {
            /** @description The area it is weighed for, m2. */
            area_m2: components["schemas"]["Number"];
            /**
             * Format: double
             * @description Chance that it is worth its cost, 0 to 1.
             */
            chance_worth_it: number | null;
            /** @description ISO 4217 code of the currency. */
            currency: string;
            /** @description For each square metre. */
            more_per_m2: components["schemas"]["Number"];
            /** @description Its standard error. */
            u_per_m2: components["schemas"]["Number"] | null;
            /** @description What the difference is worth less what it costs, where the notebook says what a decibel is worth. */
            worth_less_cost: components["schemas"]["Number"] | null;
        };
        /** @description Changes from one family of walls to another. */
        PairPool: {
            /** @description Family after, in words. */
            after: string;
            /** @description Family before, in words. */
            before: string;
            /**
             * Format: int64
             * @description How many jobs.
             */
            jobs: number;
            /** @description Whether an opening limits them. */
            opening_limited: boolean;
            /** @description Change by change. */
            rows: components["schemas"]["ChangeRow"][];
            /** @description State of the work, before and after. */
            states: string[];
            /** @description Weighting of the readings. */
            unit: string | null;
            /** @description What they say together, in words. */
            words: string;
        };
        /** @description A part of the question as it was understood. */
        Part: {
            /** @description Whether it must not hold. */
            is_unwanted: boolean;
            /** @description What it says. */
            kind: components["schemas"]["PartKind"];
            /** @description What to know about it, such as another spelling that was searched. */
            note: string | null;
            /** @description As it was typed. */
            typed: string;
            /** @description The question without this part. */
            without: string;
            /** @description How it was understood, in words. */
            words: string;
        };
        /** @description A part of the wall that differs between two sets. */
        PartChanged: {
            /** @description As it is. */
            after: string;
            /** @description As it was. */
            before: string;
            /** @description Which of the seven parts. */
            part: string;
        };
        /**
         * @description What a part of a question says.
         * @enum {string}
         */
        PartKind: "word" | "phrase" | "fill" | "frame" | "state" | "kind" | "site" | "reduction" | "difference" | "depth" | "spacing" | "cost" | "cost-per-area" | "density" | "label-r" | "days" | "grade" | "little";
        /** @description What belongs to the wall and what to a room that fill in open studs made softer. */
        Parted: {
            /** @description What belongs to the room, dB. */
            room: components["schemas"]["Number"];
            /** @description Its uncertainty at 95 %, dB either way. */
            room_within: components["schemas"]["Number"];
            /** @description Change of the wall, dB. */
            wall: components["schemas"]["Number"];
            /** @description Its uncertainty at 95 %, dB either way. */
            wall_within: components["schemas"]["Number"];
        };
        /** @description An address to sync with. */
        PartnerBody: {
            /** @description SHA-256 of the certificate to trust there, 64 digits; left out, the system's list decides. */
            pin?: string;
            /**
             * @description `https://host[:port]`; `http://` only within this computer.
             * @example https://box.example:8417
             */
            url: string;
        };
        /** @description The seven parts of an assembly, in their notation. */
        Parts: {
            /** @description Cavity and fill. */
            cavity: string | null;
            /** @description Frame. */
            frame: string | null;
            /** @description Leaf A, from its room inward. */
            leaf_a: string | null;
            /** @description Leaf B, from its room inward. */
            leaf_b: string | null;
            /** @description Doors, windows, boxes. */
            openings: string | null;
            /** @description Perimeter seals. */
            seals: string | null;
            /** @description State of the work. */
            state: string | null;
        };
        /** @description How the sound divides between wall and openings. */
        Paths: {
            /** @description Why there is nothing to say. */
            absent: string | null;
            /** @description Face that the sound meets, m². */
            face_m2: components["schemas"]["Number"] | null;
            /** @description What wall and openings give together, dB. */
            formula: components["schemas"]["Prediction"] | null;
            /** @description Whether one opening lets over half of the sound through. */
            opening_is_the_limit: boolean;
            /** @description Opening by opening. */
            openings: components["schemas"]["OpeningPath"][];
            /** @description In a sentence. */
            sentence: string | null;
            /** @description What the wall itself is expected to lose. */
            wall: components["schemas"]["WallLoss"] | null;
            /**
             * Format: double
             * @description The wall's share of the sound, 0 to 1.
             */
            wall_share: number | null;
        };
        /** @description Hours of one person. */
        PersonHours: {
            /** @description What they cost; null where they are not counted. */
            cost: components["schemas"]["Amount"] | null;
            /** @description Hours. */
            hours: components["schemas"]["Decimal"];
            /** @description Who; null where nobody is named. */
            person: components["schemas"]["Called"] | null;
        };
        /** @description A piece of a text, so that what was looked for can be marked. */
        Piece: {
            /** @description Whether it is what was looked for. */
            is_match: boolean;
            /** @description The text. */
            text: string;
        };
        /** @description A photo or file. */
        PinnedFile: {
            /**
             * Format: int64
             * @description Its size, bytes.
             */
            bytes: number | null;
            /** @description What it shows. */
            caption: string | null;
            /** @description Whether it was taken before a wall was closed. */
            cover_up: boolean | null;
            /** @description What its content is asked for by, at `/api/attachments`. */
            hash: components["schemas"]["Hash"] | null;
            /** @description Whether its content is on this device. */
            held: boolean;
            /**
             * Format: int64
             * @description How many of its bytes are on this device.
             */
            held_bytes: number;
            /** @description The record that pins it. */
            id: components["schemas"]["Id"];
            /** @description Its media type. */
            media_type: string | null;
            /** @description Its file name. */
            name: string | null;
            /** @description How its content stands on this device. */
            state: components["schemas"]["FileState"];
        };
        /** @description Photos and files pinned to a record. */
        PinnedFiles: {
            /** @description File by file. */
            files: components["schemas"]["PinnedFile"][];
        };
        /**
         * @description How a kind of rebuild stands among others by cost.
         * @enum {string}
         */
        Place: "step" | "better-beyond" | "dominated" | "twin";
        /** @description Where a part lies in its batt. */
        PlacedCut: {
            /** @description From the lower end. */
            bottom: components["schemas"]["MeasuredLength"];
            /**
             * Format: int32
             * @description The bay it is for.
             */
            cell: number | null;
            /** @description From the left side. */
            left: components["schemas"]["MeasuredLength"];
            /** @description Along. */
            length: components["schemas"]["MeasuredLength"];
            /** @description Across. */
            width: components["schemas"]["MeasuredLength"];
        };
        /** @description The numbers of a plan. */
        PlanNumbers: {
            /**
             * Format: double
             * @description Chance that the wanted change is claimed, 0 to 1.
             */
            chance: number;
            /** @description How close the change would be known, either way. */
            half_width: components["schemas"]["Number"];
            /** @description Least true change that is claimed with the wanted chance. */
            least_change: components["schemas"]["Number"];
            /** @description Whether that is the crew's own. */
            own_scatter: boolean;
            /**
             * Format: int64
             * @description Positions the plan takes.
             */
            positions: number;
            /**
             * Format: int64
             * @description Positions for the wanted chance if nothing but positions scattered.
             */
            positions_for_chance: number;
            /**
             * Format: int64
             * @description Readings at each position in each state.
             */
            repeats: number;
            /** @description Spread between positions, standard deviation. */
            scatter: components["schemas"]["Number"];
            /** @description Designs side by side. */
            table: components["schemas"]["DesignRow"][];
            /** @description Unit of all of them. */
            unit: string;
        };
        /** @description One position with both states in drawn order. */
        PlannedBlock: {
            /** @description Which way the sound goes, in words. */
            direction: string;
            /** @description The position. */
            position: string;
            /** @description Both states. */
            states: string[];
        };
        /** @description In which order to take a test. */
        PlannedOrder: {
            /** @description Position after position, where the states can be changed to and fro. */
            blocks: components["schemas"]["PlannedBlock"][];
            /** @description State after state. */
            rounds: components["schemas"]["PlannedRound"][];
        };
        /** @description Positions of one round in drawn order. */
        PlannedRound: {
            /** @description Which way the sound goes, in words. */
            direction: string;
            /** @description Receive positions in drawn order. */
            receive: string[];
            /** @description Source positions in drawn order. */
            source: string[];
            /** @description Its stage. */
            stage: string;
        };
        /** @description What a kind of rebuild cost. */
        PoolCost: {
            /** @description Job by job. */
            jobs: components["schemas"]["JobPrice"][];
            /** @description Why no price of a decibel is said. */
            no_price_because: string | null;
            /** @description The same for each square foot. */
            per_ft2: components["schemas"]["Price"] | null;
            /** @description Mean over the jobs, for each square metre treated. */
            per_m2: components["schemas"]["Price"] | null;
            /** @description What a decibel cost. */
            per_m2_and_db: components["schemas"]["PricePerDb"] | null;
            /** @description Labels of jobs without a known cost or area. */
            unknown: string[];
        };
        /** @description What one position changed. */
        PositionChange: {
            /** @description Before less after, source levels taken off, dB; positive is quieter. */
            change: components["schemas"]["Number"];
            /** @description Its label. */
            position: string;
        };
        /** @description The level at one position. */
        PositionLevel: {
            /** @description The position, where the readings name one. */
            id: components["schemas"]["Id"] | null;
            /** @description Its label within the test. */
            label: string;
            /** @description Energy mean of its readings, dB. */
            level: components["schemas"]["Number"];
            /**
             * Format: int64
             * @description How many readings.
             */
            readings: number;
        };
        /** @description What a model says a wall should give, with how far it may be off. */
        Predicted: {
            /** @description What was taken for granted. */
            assumptions: string[];
            /**
             * Format: double
             * @description How far a band may be off, dB either way.
             */
            band_spread: number;
            /** @description Lowest band first. */
            bands: components["schemas"]["PredictedBand"][];
            /**
             * Format: double
             * @description How far the class may be off, dB either way.
             */
            class_spread: number;
            /**
             * Format: double
             * @description The most that a band gives in a house before sound goes round the wall, dB.
             */
            house_cap: number;
            /**
             * Format: int64
             * @description The class of ASTM E413 that the wall without openings would get in a laboratory, dB.
             */
            laboratory_class: number;
            /** @description The wall itself, then its openings. */
            paths: components["schemas"]["PredictedPath"][];
            /** @description What the wall without openings takes off A-weighted pink noise, dB. */
            pink_wall_alone: components["schemas"]["Number"];
            /** @description What it takes off with its openings, dB. */
            pink_with_openings: components["schemas"]["Number"];
            /** @description Published laboratory range of such walls, dB. */
            published: components["schemas"]["WallLoss"] | null;
            /** @description In plain sentences. */
            sentence: string;
        };
        /** @description One band of a prediction. */
        PredictedBand: {
            /**
             * Format: double
             * @description Its nominal mid-band frequency, Hz.
             */
            band: number;
            /** @description The same, as people read it. */
            label: string;
            /** @description The laboratory wall without openings, dB. */
            wall_alone: components["schemas"]["Number"];
            /** @description The wall with its openings, no more than sound round it lets through in a house, dB. */
            with_openings: components["schemas"]["Number"];
        };
        /** @description One way through a predicted wall. */
        PredictedPath: {
            /** @description Its area, m². */
            area_m2: components["schemas"]["Number"] | null;
            /** @description The share, as people see it. */
            printed: string;
            /**
             * Format: double
             * @description Its share of A-weighted pink noise, 0 to 1.
             */
            share: number;
            /** @description Where its loss comes from. */
            source: string;
            /** @description What it is, in words. */
            words: string;
        };
        /** @description What the formula for wall and openings gives, dB. */
        Prediction: {
            /** @description With the high losses. */
            high: components["schemas"]["Number"];
            /** @description With the low losses. */
            low: components["schemas"]["Number"];
            /** @description With typical losses. */
            typical: components["schemas"]["Number"];
        };
        /** @description What the formula gives at both ends of a change. */
        Predictions: {
            /** @description After. */
            after: components["schemas"]["Prediction"] | null;
            /** @description Before. */
            before: components["schemas"]["Prediction"] | null;
        };
        /** @description An amount for each unit of something. */
        Price: {
            /** @description ISO 4217 code of the currency. */
            currency: string | null;
            /** @description Rounded, as people see it. */
            printed: string;
            /**
             * Format: double
             * @description Unrounded.
             */
            value: number;
        };
        /** @description What one line of a receipt asked for a material. */
        PricePaid: {
            /** @description Its day. */
            day: components["schemas"]["Day"] | null;
            /** @description Price of one unit of the material before tax, in the notebook's currency, to four places. */
            per_unit: components["schemas"]["Decimal"] | null;
            /** @description The same with tax. */
            per_unit_with_tax: components["schemas"]["Decimal"] | null;
            /** @description How many, as printed. */
            quantity: components["schemas"]["Decimal"];
            /** @description The receipt. */
            receipt: components["schemas"]["Called"];
            /** @description Who sold it. */
            supplier: components["schemas"]["Called"] | null;
            /** @description Of what, as printed; null for the material's unit. */
            unit: string | null;
            /** @description Price of one of these, as printed. */
            unit_price: components["schemas"]["Amount"];
        };
        /** @description What a decibel cost. */
        PricePerDb: {
            /** @description Whether it is a limit from above, because the change is at least what is said. */
            at_most: boolean;
            /** @description Where it very likely lies. */
            range: components["schemas"]["PriceRange"];
            /** @description For each square metre and decibel. */
            value: components["schemas"]["Price"];
        };
        /** @description Where a price very likely lies. */
        PriceRange: {
            /**
             * Format: double
             * @description Lower end; null for none.
             */
            from: number | null;
            /**
             * Format: double
             * @description Upper end; null where there is no limit.
             */
            to: number | null;
        };
        /** @description What a material cost. */
        Prices: {
            /** @description The currency they are told in. */
            currency: string;
            /** @description The material. */
            material: components["schemas"]["Called"];
            /** @description Purchase by purchase, oldest first. */
            prices: components["schemas"]["PricePaid"][];
            /** @description Supplier by supplier. */
            suppliers: components["schemas"]["SupplierPrices"][];
            /** @description The unit that prices are told for. */
            unit: string | null;
        };
        /** @description Why a request is refused, and what to do next. */
        Problem: {
            /** @description What was refused, for programs. */
            code: components["schemas"]["ProblemCode"];
            /** @description Why this request was refused, the chain of reasons in one line. */
            detail: string;
            /** @description The field of a draft that is refused; left out elsewhere. */
            field?: components["schemas"]["RefusedField"];
            /** @description This request, as it stands in the server's log. */
            instance: string;
            /** @description What to do next. */
            next: string;
            /**
             * Format: int32
             * @description The status of HTTP.
             */
            status: number;
            /** @description What it means, a plain sentence; the same for each refusal of this code. */
            title: string;
            /**
             * @description Where the code is explained.
             * @example /api/problems/no-such-record
             */
            type: string;
        };
        /**
         * @description What was refused, for programs. Codes are a promise: they stay, and others may join them.
         * @enum {string}
         */
        ProblemCode: "no-session" | "wrong-key" | "wrong-code" | "role-too-low" | "no-such-session" | "no-such-device" | "revoked-already" | "not-revoked" | "only-keeper" | "device-known" | "no-device-key" | "wrong-proof" | "not-a-member" | "device-revoked" | "not-for-this-key" | "conversation-over" | "slow-down" | "wrong-host" | "wrong-origin" | "no-such-route" | "method-not-allowed" | "not-json" | "wrong-media-type" | "bad-body" | "bad-path" | "bad-query" | "body-too-large" | "too-slow" | "cut-off" | "value-refused" | "unknown-kind" | "unknown-field" | "reason-missing" | "other-spelling" | "draft-refused" | "draft-reused" | "other-notebook" | "sync-first" | "may-not-write" | "unknown-author" | "no-such-record" | "several-records" | "no-such-file" | "not-here-yet" | "file-not-named" | "other-size" | "list-refused" | "other-list" | "part-refused" | "part-too-early" | "no-picture" | "no-recording" | "file-altered" | "file-empty" | "file-too-large" | "bad-range" | "no-finding" | "busy" | "closing" | "disk" | "no-backup-folder" | "backup-failed" | "notebook-not-empty" | "internal";
        /** @description What a code means. */
        ProblemKind: {
            /** @description The code. */
            code: components["schemas"]["ProblemCode"];
            /** @description What to do next, where the refusal itself says nothing better. */
            next: string;
            /**
             * Format: int32
             * @description The status of HTTP it comes with.
             */
            status: number;
            /** @description What it means, a plain sentence. */
            title: string;
        };
        /** @description A device's proof. */
        ProofBody: {
            /** @description As it was given. */
            challenge: string;
            /** @description The device. */
            device: components["schemas"]["Id"];
            /** @description As in the greeting. */
            nonce: string;
            /** @description Ed25519 signature by the device's key, 128 digits. */
            proof: string;
            /** @description Whose word it came in on, where it did: a copy of a folder goes on as a new device by itself. */
            vouch?: components["schemas"]["VouchBody"];
        };
        /** @description A quantity read along with the one the test asks for. */
        QuantityBeside: {
            /** @description In the last state, where that is another. */
            after: components["schemas"]["Number"] | null;
            /** @description After, as the crew reads it; null where that is the same unit. */
            after_as_typed: components["schemas"]["InTyped"] | null;
            /** @description In the first state that has it. */
            before: components["schemas"]["Number"] | null;
            /** @description Before, as the crew reads it; null where that is the same unit. */
            before_as_typed: components["schemas"]["InTyped"] | null;
            /** @description What it is. */
            name: string;
            /** @description In plain words. */
            sentence: string;
            /**
             * Format: int64
             * @description Spots looked at after, for counts of spots.
             */
            spots_after: number | null;
            /**
             * Format: int64
             * @description Spots looked at before, for counts of spots.
             */
            spots_before: number | null;
            /** @description Its unit. */
            unit: string;
        };
        /** @description What lies between two states. */
        QuantityChange: {
            /** @description Why there is no number. */
            absent: string | null;
            /** @description After, on what was compared. */
            after: components["schemas"]["Number"] | null;
            /** @description After, as the crew reads it; null where that is the same unit. */
            after_as_typed: components["schemas"]["InTyped"] | null;
            /** @description Before, on what was compared. */
            before: components["schemas"]["Number"] | null;
            /** @description Before, as the crew reads it; null where that is the same unit. */
            before_as_typed: components["schemas"]["InTyped"] | null;
            /** @description After less before. */
            change: components["schemas"]["Number"] | null;
            /** @description The change, as the crew reads it; null where that is the same unit. */
            change_as_typed: components["schemas"]["InTyped"] | null;
            /** @description Whether it may be claimed. */
            claim: components["schemas"]["Claim"];
            /** @description Spots compared, by label. */
            compared_on: string[];
            /**
             * Format: int64
             * @description Spots, points or days behind it, the fewer of both states.
             */
            count: number;
            /** @description Degrees of freedom of that; null is without limit, or there is no uncertainty. */
            degrees_of_freedom: components["schemas"]["Number"] | null;
            /** @description The earlier state. */
            from: components["schemas"]["SetRef"];
            /** @description How good the comparison was. */
            grade: components["schemas"]["Grade"];
            /** @description Its interval. */
            interval: components["schemas"]["Interval"] | null;
            /** @description Least change that repeats allow to claim; null without repeats. */
            least_claimed: components["schemas"]["Number"] | null;
            /** @description Spots only one state has, by label. */
            left_off: string[];
            /** @description Whether both show the same wall, so that the second repeats the first. */
            measured_again: boolean;
            /** @description What changed. */
            name: string;
            /** @description Why it may not, in words. */
            no_claim_because: string[];
            /** @description What to know about this one comparison. */
            notes: string[];
            /** @description Whether it is made from pairs at the same spots. */
            paired: boolean;
            /** @description The change in percent of before, where that says more; the claim is on it then. */
            percent: components["schemas"]["Number"] | null;
            /** @description Interval of that. */
            percent_interval: components["schemas"]["Interval"] | null;
            /** @description In plain words. */
            sentence: string;
            /** @description What makes it uncertain. */
            shares: components["schemas"]["QuantityShare"][];
            /** @description The later state. */
            to: components["schemas"]["SetRef"];
            /**
             * Format: double
             * @description Standard uncertainty of the change, in its unit.
             */
            u: number | null;
            /** @description Unit of change and interval; empty for a plain number. */
            unit: string;
            /** @description Unit of these two; empty for a plain number. */
            unit_of_ends: string;
        };
        /** @description What a test of another quantity than sound shows. */
        QuantityFinding: {
            /** @description What was read along with it. */
            beside: components["schemas"]["QuantityBeside"][];
            /** @description What a reader should not take from it. */
            cautions: string[];
            /** @description Every later state against the first, and against the one before it where that is another. */
            changes: components["schemas"]["QuantityChange"][];
            /** @description What its numbers count. */
            counted: components["schemas"]["Counted"];
            /** @description What is odd, over all states. */
            flags: components["schemas"]["Oddity"][];
            /** @description The change that answers the question. */
            headline: components["schemas"]["QuantityChange"] | null;
            /** @description What it measures. */
            measures: components["schemas"]["Measures"];
            /** @description How it was worked out, and what would make it better. */
            notes: string[];
            /** @description The answer in sentences. */
            sentences: string[];
            /** @description States in the order they were taken. */
            states: components["schemas"]["QuantityState"][];
            /** @description The test. */
            test: components["schemas"]["Called"];
        };
        /** @description One source of uncertainty. */
        QuantityShare: {
            /** @description What it stands for. */
            name: string;
            /**
             * Format: double
             * @description Its share of the squared uncertainty, 0 to 1.
             */
            share: number;
            /**
             * Format: double
             * @description Its standard uncertainty, in the unit of the change; of a ratio as a share of one.
             */
            u: number;
        };
        /** @description One state of what was tested. */
        QuantityState: {
            /** @description The assembly version. */
            assembly: components["schemas"]["Called"] | null;
            /** @description Day of the first set. */
            date: components["schemas"]["Day"] | null;
            /** @description What is odd about it. */
            flags: components["schemas"]["Oddity"][];
            /** @description Whether a person included it in spite of its flags. */
            included_by_a_person: boolean;
            /** @description What it was worked out from. */
            inputs: components["schemas"]["StateInput"][];
            /** @description Label of its set, or those of the first and the last. */
            label: string;
            /** @description Rules of the method. */
            rules: components["schemas"]["RuleKept"][];
            /** @description Every set in it. */
            sets: components["schemas"]["Called"][];
            /** @description Its stage. */
            stage: string | null;
            /** @description What it shows, the number the test asks for first. */
            values: components["schemas"]["StateValue"][];
        };
        /** @description One side of the answer. */
        QuestionSide: {
            /** @description Its average, grades A and B. */
            average: components["schemas"]["SideAverage"] | null;
            /** @description What its jobs cost. */
            cost: components["schemas"]["SideCost"] | null;
            /**
             * Format: int64
             * @description Jobs of grade C among them.
             */
            jobs_of_grade_c: number;
            /** @description What the model gives for these walls. */
            model: components["schemas"]["WallRange"] | null;
            /** @description What it is called. */
            name: string;
            /** @description Published laboratory range of such walls. */
            published: components["schemas"]["WallRange"] | null;
            /** @description Job by job. */
            rows: components["schemas"]["Row"][];
        };
        /** @description A side in the order of the averages. */
        Ranked: {
            /** @description Whether the best is better than it; null for the best itself. */
            against_the_best: components["schemas"]["Verdict"] | null;
            /**
             * Format: int64
             * @description Its index.
             */
            side: number;
        };
        /** @description A single number before and after. */
        RatingChange: {
            /** @description After. */
            after: components["schemas"]["BandRating"];
            /** @description Before. */
            before: components["schemas"]["BandRating"];
            /** @description How the true change stands to it. */
            bound: components["schemas"]["Bound"];
            /** @description After less before, dB, in steps of 0.1 where the standard has them. */
            change: components["schemas"]["Number"];
            /** @description Its name. */
            name: string;
        };
        /** @description A reading as it stands, with its position. */
        ReadingRow: {
            /** @description Who wrote it first. */
            author: components["schemas"]["Called"] | null;
            /** @description What stands in its fields, by field. */
            fields: {
                [key: string]: components["schemas"]["FieldValue"];
            };
            /** @description The record. */
            id: components["schemas"]["Id"];
            /** @description Its kind: `reading`. */
            kind: string;
            /** @description Its short name. */
            label: string | null;
            /** @description What it belongs to. */
            name: string | null;
            /** @description Where it was taken. */
            position: components["schemas"]["Called"] | null;
            /** @description Why it was struck; null where it stands. */
            struck: string | null;
            /** @description The writes that stand on being struck. */
            struck_heads: components["schemas"]["Head"][];
            /** @description Fields whose value this version cannot read. */
            unreadable: string[];
            /** @description When it was first written. */
            written_at: components["schemas"]["Moment"] | null;
        };
        /** @description One wall of a rebuild, as measured. */
        RebuildStep: {
            /** @description The wall. */
            assembly: components["schemas"]["Called"] | null;
            /** @description Day of the set. */
            date: components["schemas"]["Day"] | null;
            /** @description Level difference, dB. */
            level_difference: components["schemas"]["Estimate"] | null;
            /** @description Parts that differ from the step before. */
            parts_changed: components["schemas"]["PartChanged"][];
            /** @description In words. */
            sentence: string;
            /** @description The set that stands for the wall. */
            set: components["schemas"]["Called"] | null;
            /** @description What of that was spent since the step before. */
            spent_for_it: components["schemas"]["Amount"] | null;
            /** @description What the test's jobs had spent by the end of that day. */
            spent_so_far: components["schemas"]["Amount"] | null;
            /** @description Its stage. */
            stage: string | null;
            /** @description Against the wall before. */
            to_before: components["schemas"]["Figure"] | null;
            /** @description Against the first wall. */
            to_first: components["schemas"]["Figure"] | null;
        };
        /** @description A purchase with its lines, added up. */
        Receipt: {
            /** @description Whether that is what is printed on it; null where nothing is printed. */
            adds_up: boolean | null;
            /** @description What one unit of that currency cost in the notebook's; null where they are one. */
            exchange_rate: components["schemas"]["Decimal"] | null;
            /** @description The job its lines are booked to unless they say otherwise. */
            job: components["schemas"]["Called"] | null;
            /** @description Its lines, by their place on it. */
            lines: components["schemas"]["ReceiptLine"][];
            /** @description What to look at. */
            marks: components["schemas"]["Mark"][];
            /** @description Currency it was paid in. */
            paid_in: string;
            /** @description The receipt. */
            receipt: components["schemas"]["Record"];
            /** @description Sum of the lines. */
            subtotal: components["schemas"]["Amount"];
            /** @description Who sold it. */
            supplier: components["schemas"]["Called"] | null;
            /** @description Tax, once for the receipt. */
            tax: components["schemas"]["Amount"];
            /** @description Taxed lines by their rate. */
            tax_classes: components["schemas"]["TaxClass"][];
            /** @description Subtotal and tax. */
            total: components["schemas"]["Amount"];
            /** @description Total in the currency it was paid in. */
            total_on_paper: components["schemas"]["Amount"];
        };
        /** @description One line of a receipt. */
        ReceiptLine: {
            /** @description Quantity by price less discount; null where one of them is missing. */
            amount: components["schemas"]["Amount"] | null;
            /** @description The line. */
            line: components["schemas"]["Record"];
        };
        /** @description A page of receipts, newest first. */
        ReceiptPage: {
            /** @description Receipt by receipt. */
            items: components["schemas"]["Receipt"][];
            /** @description Where the next page begins; null on the last. */
            next: components["schemas"]["Cursor"] | null;
            /**
             * Format: int64
             * @description How many there are on all pages.
             */
            total: number;
        };
        /** @description A record as it stands. */
        Record: {
            /** @description Who wrote it first. */
            author: components["schemas"]["Called"] | null;
            /** @description What stands in its fields, by field. A field nobody wrote is left out; one that was cleared is there. */
            fields: {
                [key: string]: components["schemas"]["FieldValue"];
            };
            /** @description The record. */
            id: components["schemas"]["Id"];
            /** @description Its kind, as `/api/kinds` names it. */
            kind: string;
            /** @description Its short name. */
            label: string | null;
            /** @description Its name, title, role or question, or what it belongs to. */
            name: string | null;
            /** @description Why it was struck; null where it stands. */
            struck: string | null;
            /** @description The writes that stand on being struck. */
            struck_heads: components["schemas"]["Head"][];
            /** @description Fields whose value this version cannot read. */
            unreadable: string[];
            /** @description When it was first written. */
            written_at: components["schemas"]["Moment"] | null;
        };
        /** @description A page of the records of a kind, oldest first. */
        RecordPage: {
            /** @description Record by record. */
            items: components["schemas"]["Record"][];
            /** @description Where the next page begins; null on the last. */
            next: components["schemas"]["Cursor"] | null;
            /**
             * Format: int64
             * @description How many there are on all pages.
             */
            total: number;
        };
        /** @description A record as it stands, with what points to it. */
        RecordSheet: {
            /** @description Who wrote it first. */
            author: components["schemas"]["Called"] | null;
            /** @description What stands in its fields, by field. A field nobody wrote is left out; one that was cleared is there. */
            fields: {
                [key: string]: components["schemas"]["FieldValue"];
            };
            /** @description The record. */
            id: components["schemas"]["Id"];
            /** @description Its kind, as `/api/kinds` names it. */
            kind: string;
            /** @description Its short name. */
            label: string | null;
            /** @description What points to it, kind by kind. */
            linked: components["schemas"]["Linked"][];
            /** @description Its name, title, role or question, or what it belongs to. */
            name: string | null;
            /** @description Why it was struck; null where it stands. */
            struck: string | null;
            /** @description The writes that stand on being struck. */
            struck_heads: components["schemas"]["Head"][];
            /** @description Fields whose value this version cannot read. */
            unreadable: string[];
            /** @description When it was first written. */
            written_at: components["schemas"]["Moment"] | null;
        };
        /** @description One band of a recording, unweighted. */
        RecordedBand: {
            /**
             * Format: double
             * @description Its nominal mid-band frequency, Hz.
             */
            band: number;
            /**
             * Format: double
             * @description Its equivalent level, dB.
             */
            level: number;
            /**
             * Format: double
             * @description Standard deviation that noise has from the length of the recording alone, dB.
             */
            random_error: number | null;
            /** @description Whether the recording is too short for it, so that it is in no reading. */
            too_short: boolean;
        };
        /** @description Levels of a recording, dB re 20 µPa where it is calibrated, else re a full-scale sine. Null for silence. */
        RecordedLevels: {
            /**
             * Format: double
             * @description The same for 10 %.
             */
            LA10: number | null;
            /**
             * Format: double
             * @description A-weighted level exceeded for 5 % of the time, Fast.
             */
            LA5: number | null;
            /**
             * Format: double
             * @description The same for 50 %.
             */
            LA50: number | null;
            /**
             * Format: double
             * @description The same for 90 %.
             */
            LA90: number | null;
            /**
             * Format: double
             * @description The same for 95 %.
             */
            LA95: number | null;
            /**
             * Format: double
             * @description A-weighted sound exposure level.
             */
            LAE: number | null;
            /**
             * Format: double
             * @description Highest A-weighted level, Fast.
             */
            LAFmax: number | null;
            /**
             * Format: double
             * @description Lowest A-weighted level, Fast.
             */
            LAFmin: number | null;
            /**
             * Format: double
             * @description Highest A-weighted level, Slow.
             */
            LASmax: number | null;
            /**
             * Format: double
             * @description Lowest A-weighted level, Slow.
             */
            LASmin: number | null;
            /**
             * Format: double
             * @description A-weighted equivalent level.
             */
            LAeq: number | null;
            /**
             * Format: double
             * @description Highest C-weighted level, Fast.
             */
            LCFmax: number | null;
            /**
             * Format: double
             * @description Lowest C-weighted level, Fast.
             */
            LCFmin: number | null;
            /**
             * Format: double
             * @description Highest C-weighted level, Slow.
             */
            LCSmax: number | null;
            /**
             * Format: double
             * @description Lowest C-weighted level, Slow.
             */
            LCSmin: number | null;
            /**
             * Format: double
             * @description C-weighted equivalent level.
             */
            LCeq: number | null;
            /**
             * Format: double
             * @description C-weighted peak.
             */
            LCpeak: number | null;
            /**
             * Format: double
             * @description Highest unweighted level, Fast.
             */
            LZFmax: number | null;
            /**
             * Format: double
             * @description Lowest unweighted level, Fast.
             */
            LZFmin: number | null;
            /**
             * Format: double
             * @description Highest unweighted level, Slow.
             */
            LZSmax: number | null;
            /**
             * Format: double
             * @description Lowest unweighted level, Slow.
             */
            LZSmin: number | null;
            /**
             * Format: double
             * @description Unweighted equivalent level, from 10 Hz up.
             */
            LZeq: number | null;
        };
        /**
         * @description What follows from the recording for a reading, field by field as a draft takes it. Set, position, role and recording are
         *     the writer's to add.
         */
        RecordedReading: {
            /** @description Unweighted levels by third octave. */
            bands: string | null;
            /** @description How levels follow from the recording. */
            calibration: string | null;
            /** @description How many times it is clipped. */
            clipped: string | null;
            /** @description What was cut out, why, and the level with it. */
            cut_out: string | null;
            /** @description Averaging time, s. */
            duration_s: string;
            /** @description `yes` where its format loses sound. */
            lossy: string | null;
            /** @description How it is averaged. */
            response: string;
            /** @description What the number is. */
            subject: string;
            /** @description The number with its unit. */
            value: string;
        };
        /** @description One second of a recording. */
        RecordedSecond: {
            /**
             * Format: double
             * @description Highest A-weighted level, Fast, dB.
             */
            LAFmax: number | null;
            /**
             * Format: double
             * @description A-weighted equivalent level, dB.
             */
            LAeq: number | null;
            /**
             * Format: double
             * @description C-weighted equivalent level, dB.
             */
            LCeq: number | null;
            /**
             * Format: double
             * @description Unweighted equivalent level, dB.
             */
            LZeq: number | null;
            /**
             * Format: double
             * @description How long it is, s: 1, or less for the last.
             */
            duration_s: number;
            /**
             * Format: double
             * @description When it starts, s.
             */
            from_s: number;
        };
        /** @description A recording, measured. */
        RecordingMeasured: {
            /** @description Whether full scale is known, so that levels are re 20 µPa. */
            calibrated: boolean;
            /** @description How it is known, in words. */
            calibration: string | null;
            /**
             * Format: int32
             * @description The channel that was measured, counted from 1.
             */
            channel: number;
            /**
             * Format: int32
             * @description Channels in it.
             */
            channels: number;
            /** @description What was cut out, in words. */
            cut_out: string[];
            /**
             * Format: double
             * @description How long it is without what was cut out, s.
             */
            duration_s: number;
            /** @description Its format. */
            format: string;
            /** @description The recording. */
            hash: components["schemas"]["Hash"];
            /** @description What is said of so loud a place, for whoever stands there. */
            hearing: string | null;
            /** @description Every second of the whole. */
            history: components["schemas"]["RecordedSecond"][];
            /** @description Levels without what was cut out. */
            levels: components["schemas"]["RecordedLevels"];
            /** @description Levels of the whole, where something was cut out. */
            levels_uncut: components["schemas"]["RecordedLevels"] | null;
            /** @description Bands that the sample rate does not reach, Hz. */
            missing_bands: number[];
            /** @description Why there is none, in words. */
            no_reading_because: string | null;
            /** @description Octaves, lowest first. */
            octaves: components["schemas"]["RecordedBand"][];
            /** @description What is odd about it, in words. */
            oddities: string[];
            /** @description The reading that could be kept. */
            reading: components["schemas"]["RecordedReading"] | null;
            /**
             * Format: int32
             * @description Samples a second.
             */
            sample_rate_hz: number;
            /** @description Third octaves, lowest first. */
            third_octaves: components["schemas"]["RecordedBand"][];
        };
        /** @description The field of a draft that is refused. */
        RefusedField: {
            /** @description The field, as it was sent. */
            field: string;
            /** @description The kind of record, as it was sent. */
            kind: string;
            /**
             * Format: int64
             * @description Which write of the draft, counted from 0; null where that is not known.
             */
            write: number | null;
        };
        /** @description Level differences of sets that repeat each other. */
        RepeatsOf: {
            /** @description Weighting. */
            unit: string;
            /** @description Level differences, dB. */
            values_db: number[];
        };
        /** @description A change by resampling its positions: shown beside the interval, never chosen for being narrower. */
        Resampled: {
            /** @description Its interval, dB. */
            interval: components["schemas"]["Interval"];
            /** @description Mean of the differences by position, dB. */
            mean: components["schemas"]["Number"];
            /** @description In words. */
            sentence: string;
        };
        /**
         * @description What a device or browser may do: each may all that those after it may.
         * @enum {string}
         */
        RoleName: "keeper" | "crew" | "viewer";
        /** @description One job and wall. */
        Row: {
            /** @description The wall before, of a change. */
            before: components["schemas"]["Called"] | null;
            /** @description How good the comparison was. */
            grade: components["schemas"]["Letter"];
            /** @description Its own interval, dB. */
            interval: components["schemas"]["Interval"] | null;
            /** @description The job. */
            job: components["schemas"]["Called"] | null;
            /** @description The line it stands in. */
            line: components["schemas"]["Line"];
            /** @description Whether an opening limits the wall. */
            opening_limited: boolean;
            /** @description Parts of the wall that changed. */
            parts_changed: string[];
            /** @description Labels of the sets behind it. */
            sets: string[];
            /** @description Labels of the tests behind it. */
            tests: string[];
            /** @description Weighting of the readings. */
            unit: string | null;
            /** @description The change or level difference, dB. */
            value: components["schemas"]["Estimate"];
            /** @description The wall, or the wall after. */
            wall: components["schemas"]["Called"] | null;
        };
        /** @description A rule of the method. */
        RuleKept: {
            /** @description Whether it was kept. */
            kept: boolean;
            /** @description The rule, with the number it was judged by. */
            rule: string;
        };
        /** @description Runs behind a change on a bench rig. */
        RunCounts: {
            /**
             * Format: int64
             * @description Runs after.
             */
            after: number;
            /**
             * Format: int64
             * @description Runs before.
             */
            before: number;
        };
        /** @description Runs on a bench rig. */
        Runs: {
            /** @description Their mean, dB. */
            mean: components["schemas"]["Number"];
            /** @description Their standard deviation, dB. */
            spread: components["schemas"]["Number"] | null;
            /** @description Level difference of each run, dB. */
            values: number[];
        };
        /** @description How the positions of one change scatter. */
        ScatterOf: {
            /**
             * Format: int64
             * @description Positions compared.
             */
            positions: number;
            /**
             * Format: double
             * @description Standard deviation, dB.
             */
            sd_db: number;
            /** @description Weighting. */
            unit: string;
        };
        /**
         * @description A section of a write-up.
         * @enum {string}
         */
        SectionWord: "question" | "built" | "method" | "conditions" | "results" | "others" | "left-out" | "cost" | "conclusion" | "limits" | "cautions" | "disclosure" | "versions" | "data";
        /** @description The notebook that is served. */
        ServedNotebook: {
            /**
             * @description Currency of its prices, by its code.
             * @example USD
             */
            currency: string;
            /** @description Its id, the same at every copy. */
            id: components["schemas"]["Id"];
            /**
             * @description Its name.
             * @example Quiet rooms
             */
            name: string;
        };
        /** @description The device that serves. */
        ServingDevice: {
            /** @description Its id. */
            id: components["schemas"]["Id"];
            /**
             * @description Its short name, where one is written.
             * @example box
             */
            label: string | null;
        };
        /** @description Whom the server takes this browser for, and what it serves. */
        Session: {
            /**
             * @description Which build of the screens the server carries; `none` without any.
             * @example none
             */
            build: string;
            /** @description The device. */
            device: components["schemas"]["ServingDevice"];
            /** @description The notebook. */
            notebook: components["schemas"]["ServedNotebook"];
            /** @description The person who writes from this browser, unless a draft names another. */
            person: components["schemas"]["Called"];
            /** @description What this browser may do. */
            role: components["schemas"]["RoleName"];
            /** @description Now, by the server's clock. */
            server_time: components["schemas"]["Moment"];
            /**
             * @description Version of the program.
             * @example 0.1.0
             */
            version: string;
        };
        /** @description Changes of one device that follow one another and do not count. */
        SetAside: {
            /** @description Whose. */
            device: components["schemas"]["Id"];
            /** @description When the first was written, by its writer's clock. */
            first_written: components["schemas"]["Moment"];
            /**
             * Format: int64
             * @description Number of the first change.
             */
            from: number;
            /** @description What people call it. */
            label: string | null;
            /** @description When the last was. */
            last_written: components["schemas"]["Moment"];
            /**
             * Format: int64
             * @description Number of the one after the last.
             */
            to: number;
            /** @description Why they do not count. */
            why: components["schemas"]["WhyName"];
        };
        /** @description A set by band. */
        SetBands: {
            /** @description Difference of the A-weighted levels summed from these bands, dB. */
            a_weighted: components["schemas"]["Estimate"];
            /** @description Why a single number is absent, in words. */
            no_rating_because: string[];
            /** @description Single numbers. */
            ratings: components["schemas"]["BandRating"][];
            /** @description Labels of the receive positions with bands. */
            receive_positions: string[];
            /** @description Lowest band first. */
            rows: components["schemas"]["BandRow"][];
            /** @description Labels of the source positions with bands. */
            source_positions: string[];
            /** @description How wide the bands are. */
            width: components["schemas"]["BandWidth"];
        };
        /** @description What one round of readings shows. */
        SetFinding: {
            /** @description Why there is none. */
            absent: string | null;
            /** @description The assembly version under test. */
            assembly: components["schemas"]["Called"] | null;
            /** @description The receiving room's own noise, the highest of its readings, dB. */
            background: components["schemas"]["Number"] | null;
            /** @description What the rule did. */
            background_effect: components["schemas"]["BackgroundEffect"] | null;
            /** @description The rule for the room's own noise. */
            background_rule: components["schemas"]["BackgroundRule"];
            /** @description The rule in words. */
            background_rule_words: string;
            /** @description The same by frequency band, where the readings hold bands. */
            bands: components["schemas"]["SetBands"] | null;
            /** @description Readings that were corrected. */
            corrected_readings: components["schemas"]["CorrectedReading"][];
            /** @description Its day. */
            date: components["schemas"]["Day"] | null;
            /** @description Which way the sound went, in words. */
            direction: string;
            /** @description What is odd. */
            flags: components["schemas"]["Flag"][];
            /** @description Room of the source. */
            from_room: components["schemas"]["Called"] | null;
            /** @description What the source does to ears, where it reads 85 dBA or more. */
            hearing: components["schemas"]["Hearing"] | null;
            /** @description The set. */
            id: components["schemas"]["Id"];
            /** @description Why, where it was included. */
            included_because: string | null;
            /** @description Whether a person included it in spite of its flags. */
            included_by_a_person: boolean;
            /** @description Whether it takes part in results. */
            is_in_results: boolean;
            /** @description The job it was taken in. */
            job: components["schemas"]["Called"] | null;
            /** @description Always `set`. */
            kind: components["schemas"]["OfSet"];
            /** @description Its label. */
            label: string;
            /** @description Mean of the source room less the corrected mean of the receiving room, or the mean of the runs, dB. */
            level_difference: components["schemas"]["Estimate"] | null;
            /** @description Mean of the receiving room less its own noise, dB. */
            margin: components["schemas"]["Number"] | null;
            /** @description Planned positions without a reading, by label. */
            missing_positions: string[];
            /** @description Why it is out of results; empty when it is in. */
            out_because: string[];
            /** @description The receiving room, as read. */
            receive: components["schemas"]["Side"] | null;
            /** @description Mean of the receiving room after the rule, dB. */
            receive_corrected: components["schemas"]["Number"] | null;
            /** @description How its readings were averaged, when all alike. */
            response: string | null;
            /** @description Runs, on a bench rig. */
            runs: components["schemas"]["Runs"] | null;
            /** @description The finding in one sentence. */
            sentence: string;
            /** @description The source room. */
            source: components["schemas"]["Side"] | null;
            /** @description Its stage: one of the choices of the field in `/api/kinds`. */
            stage: string | null;
            /** @description Its test. */
            test: components["schemas"]["Called"] | null;
            /** @description Room of the receiver. */
            to_room: components["schemas"]["Called"] | null;
            /** @description Weighting of its readings: `dBA`, `dBC`, `dB`. */
            unit: string | null;
            /** @description Whether it is of an untouched wall beside the rebuilt one. */
            untouched: boolean;
        };
        /** @description A set in the list of tests. */
        SetInRow: {
            /** @description Its day. */
            date: components["schemas"]["Day"] | null;
            /** @description Which way the sound went, in words. */
            direction: string | null;
            /** @description Whether it takes part in results. */
            is_in_results: boolean;
            /**
             * Format: int64
             * @description How many readings.
             */
            readings: number;
            /** @description The set. */
            set: components["schemas"]["Called"];
            /** @description Its stage. */
            stage: string | null;
        };
        /** @description A set that is out of results. */
        SetOut: {
            /** @description Why. */
            because: string[];
            /** @description Label of the set. */
            set: string;
        };
        /** @description One end of a change. */
        SetRef: {
            /** @description The assembly version it was taken at. */
            assembly: components["schemas"]["Called"] | null;
            /** @description The job it was taken in. */
            job: components["schemas"]["Called"] | null;
            /** @description The set. */
            set: components["schemas"]["Called"];
        };
        /** @description A set with its readings and what it shows. */
        SetSheet: {
            /** @description The assembly version under test. */
            assembly: components["schemas"]["Called"] | null;
            /** @description What it shows. */
            finding: components["schemas"]["SetFinding"] | null;
            /** @description Its readings; struck ones are left out. */
            readings: components["schemas"]["ReadingRow"][];
            /** @description The set. */
            set: components["schemas"]["Record"];
        };
        /** @description One source of uncertainty. */
        Share: {
            /** @description What it stands for. */
            name: string;
            /**
             * Format: double
             * @description Its share of the squared uncertainty, 0 to 1.
             */
            share: number;
            /** @description Its standard uncertainty, dB. */
            u: components["schemas"]["Number"];
        };
        /** @description A set's level difference on the positions that all sets have. */
        SharedLevel: {
            /** @description Label of the set. */
            label: string;
            /** @description Level difference on the shared positions, dB. */
            level_difference: components["schemas"]["Estimate"];
        };
        /** @description A condition on the sheet. */
        SheetCondition: {
            /** @description As found before. */
            before: string | null;
            /** @description How much it weighs. */
            class: string;
            /** @description Not in the test yet, but worth adding. */
            suggested: boolean;
            /** @description What is held. */
            variable: string;
            /** @description What is wanted. */
            wanted: string;
        };
        /** @description How one sheet is cut. */
        SheetCut: {
            /** @description Its pieces. */
            cut: components["schemas"]["OffcutSize"][];
            /** @description What is left, the largest first. */
            left_over: components["schemas"]["OffcutSize"][];
        };
        /** @description A result that belongs to the question and is not compared. */
        ShownApart: {
            /** @description Why. */
            because: string;
            /** @description The result. */
            row: components["schemas"]["Row"];
            /**
             * Format: int64
             * @description Index of its side.
             */
            side: number;
        };
        /** @description How many were shut out. */
        ShutOut: {
            /**
             * Format: int64
             * @description How many.
             */
            count: number;
        };
        /** @description The readings of one room. */
        Side: {
            /** @description Loudest less quietest position, dB. */
            loudest_less_quietest: components["schemas"]["Number"];
            /** @description Energy mean over the positions, dB. */
            mean: components["schemas"]["Number"];
            /** @description Position by position. */
            positions: components["schemas"]["PositionLevel"][];
        };
        /** @description What the jobs of a side do on average. */
        SideAverage: {
            /** @description How the true number stands to it. */
            bound: components["schemas"]["Bound"];
            /** @description Where it very likely lies, dB. */
            interval: components["schemas"]["Interval"] | null;
            /**
             * Format: int64
             * @description How many jobs.
             */
            jobs: number;
            /** @description What to expect of the next job, dB. */
            next_job: components["schemas"]["Interval"] | null;
            /** @description The average, or the one job's own number, dB. */
            value: components["schemas"]["Number"];
        };
        /** @description Sets and walls side by side. */
        SideBySide: {
            /** @description Bench rigs with a set that is asked for. */
            bench_rig: components["schemas"]["BenchFinding"][];
            /** @description The changes between them. */
            changes: components["schemas"]["Change"][];
            /** @description The sets. */
            sets: components["schemas"]["SetFinding"][];
        };
        /** @description What the jobs of a side cost. */
        SideCost: {
            /** @description ISO 4217 code of the currency. */
            currency: string;
            /**
             * Format: int64
             * @description Jobs whose cost and area are known.
             */
            jobs: number;
            /** @description Mean for each square metre treated, everything of the job counted. */
            per_m2: components["schemas"]["Number"];
            /** @description Its standard error. */
            u_per_m2: components["schemas"]["Number"] | null;
        };
        /** @description One site on one day. */
        SiteDay: {
            /** @description Tasks that are blocked, or wait for one that is not done. */
            blocked: components["schemas"]["Task"][];
            /** @description Receipts of the day. */
            bought: components["schemas"]["Bought"][];
            /** @description Tasks done that nobody has checked. */
            done_not_checked: components["schemas"]["Task"][];
            /** @description Lines of the day log, in the order they were written. */
            entries: components["schemas"]["Entry"][];
            /** @description Hours by person. */
            hours: components["schemas"]["DayHours"][];
            /** @description The jobs at work that day, or those that run at the site. */
            jobs: components["schemas"]["JobMoney"][];
            /** @description Tasks to do or being done. */
            open: components["schemas"]["Task"][];
            /** @description Jobs without a last day. */
            running_jobs: components["schemas"]["Called"][];
            /** @description Sets without a reading. */
            sets_without_readings: components["schemas"]["Called"][];
            /** @description The site. */
            site: components["schemas"]["Called"];
            /** @description Sum of the day's purchases; null where nothing was bought. */
            spent: components["schemas"]["Amount"] | null;
        };
        /** @description What an assembly would be that is not written yet. */
        Sketch: {
            /** @description From side A to side B; what lies within the cavity follows the cavity. */
            layers: components["schemas"]["SketchLayer"][];
            /** @description Of all whose mass is known. */
            mass: components["schemas"]["AreaMass"] | null;
            /** @description Why there is no drawing; null where there is one. */
            not_drawn_because: string | null;
            /** @description Why it says nothing. */
            not_predicted_because: string | null;
            /** @description What the mass leaves out, in words. */
            not_weighed: string[];
            /** @description What to look at again, in sentences. */
            notes: string[];
            /** @description Its parts as they would be stored; null where nothing is given or it cannot be read. */
            parts: components["schemas"]["Parts"];
            /** @description What a model says such a wall should give. */
            predicted: components["schemas"]["Predicted"] | null;
            /** @description Field by field; the rest is worked out without them. */
            problems: components["schemas"]["SketchProblem"][];
            /** @description From face to face. */
            thickness: components["schemas"]["Thickness"] | null;
        };
        /** @description One layer, or one thing within the cavity. */
        SketchLayer: {
            /**
             * Format: int32
             * @description How many, one behind another.
             */
            count: number;
            /** @description Thickness of one. */
            each: components["schemas"]["Thickness"];
            /** @description What it is. */
            kind: components["schemas"]["LayerKind"];
            /** @description Mass of all of them, where it is known. */
            mass: components["schemas"]["AreaMass"] | null;
            /** @description Where the mass comes from. */
            mass_from: components["schemas"]["MassFrom"] | null;
            /** @description What it is made of, as in the notation. */
            name: string;
            /**
             * @description Which of the seven parts it comes from.
             * @example leaf_a
             */
            part: string;
            /** @description From centre to centre along the wall. */
            spacing: components["schemas"]["Thickness"] | null;
            /** @description Thickness of all of them. */
            thickness: components["schemas"]["Thickness"];
            /** @description Whether it lies within the cavity, whose thickness counts it already. */
            within_cavity: boolean;
        };
        /** @description A field that cannot be read. */
        SketchProblem: {
            /** @description The field, as in the kind `assembly`. */
            field: string;
            /** @description What to do. */
            next: string;
            /** @description Why. */
            why: string;
        };
        /**
         * @description The order of what is found.
         * @enum {string}
         */
        SortWord: "match" | "date" | "reduction";
        /** @description What one test gives to the spreads that are pooled over the notebook. */
        SpreadOf: {
            /** @description Wall by wall. */
            repeats: components["schemas"]["RepeatsOf"][];
            /** @description Change by change. */
            scatter: components["schemas"]["ScatterOf"][];
            /** @description The test. */
            test: components["schemas"]["Id"];
        };
        /** @description A rebuild step by step, in one direction and weighting. */
        Stages: {
            /** @description Which way the sound went, in words. */
            direction: string;
            /** @description What the steps are and are not. */
            sentence: string;
            /** @description Wall by wall, in the order they were measured. */
            steps: components["schemas"]["RebuildStep"][];
            /** @description Weighting of the readings. */
            unit: string | null;
        };
        /** @description A number an earlier edition printed otherwise. */
        StaleNumber: {
            /** @description As it is now; null where there is no such number any more. */
            now: string | null;
            /** @description The day of the edition. */
            printed_on: components["schemas"]["Day"];
            /** @description As printed. */
            was: string;
            /** @description What it is of. */
            what: string;
        };
        /** @description How a device begins. */
        StartBody: {
            /** @description Its half of the proof, hexadecimal. */
            message: string;
            /**
             * Format: int32
             * @description The way of joining it speaks.
             * @example 1
             */
            version: number;
        };
        /** @description A number a state was worked out from. */
        StateInput: {
            /** @description The same as the crew reads it; null where that is the same unit. */
            as_typed: components["schemas"]["InTyped"] | null;
            /** @description What it is. */
            name: string;
            /**
             * Format: int64
             * @description Readings in it.
             */
            readings: number;
            /** @description Its unit; empty for a plain number. */
            unit: string;
            /** @description Its mean. */
            value: components["schemas"]["Number"];
        };
        /** @description A number of a state. */
        StateValue: {
            /** @description Why there is no number. */
            absent: string | null;
            /** @description The same as the crew reads it; null where that is the same unit. */
            as_typed: components["schemas"]["InTyped"] | null;
            /**
             * Format: int64
             * @description Spots, points or days behind it.
             */
            count: number;
            /** @description Degrees of freedom of that; null is without limit, or there is no uncertainty. */
            degrees_of_freedom: components["schemas"]["Number"] | null;
            /** @description Its interval, in the same unit; null where nothing tells how far off it is. */
            interval: components["schemas"]["Interval"] | null;
            /** @description What it is. */
            name: string;
            /**
             * Format: double
             * @description Its standard uncertainty, in the same unit.
             */
            u: number | null;
            /** @description Its unit; empty for a plain number. */
            unit: string;
            /** @description The number. */
            value: components["schemas"]["Number"] | null;
        };
        /** @description One write. */
        Step: {
            /** @description Who. */
            author: components["schemas"]["Called"];
            /** @description Why its time is in doubt: `ahead` of the server's clock by a day or more, or written `before-what-it-saw`. */
            clock: string | null;
            /** @description Short name of the device that took it. */
            device: string;
            /** @description The field; `struck` for striking and restoring. */
            field: string;
            /** @description Why, where a reason was given. */
            reason: string | null;
            /** @description Whether no other write has seen it. */
            stands: boolean;
            /** @description The same as it is typed in a draft: a record by its id; null where it cleared the field or cannot be read. */
            typed: string | null;
            /** @description What was written, as people read it; null cleared the field. */
            value: string | null;
            /** @description Which write. */
            write: components["schemas"]["Head"];
            /** @description When, by the writer's own clock. */
            written_at: components["schemas"]["Moment"];
            /** @description The values its form showed; empty for a first value. */
            written_over: string[];
        };
        /** @description What is left. */
        Stock: {
            /** @description Row by row. */
            rows: components["schemas"]["StockRow"][];
        };
        /** @description What is left of one material at one place, in its unit. */
        StockRow: {
            /** @description Bought. */
            bought: components["schemas"]["Decimal"];
            /** @description Day it was last counted. */
            counted: components["schemas"]["Day"] | null;
            /** @description Damaged units, as last counted; not valued. */
            damaged: components["schemas"]["Decimal"];
            /** @description Of which job. */
            job: components["schemas"]["Called"] | null;
            /** @description Left: below zero where more was used than bought. */
            left: components["schemas"]["Decimal"];
            /** @description Where it lies, as last counted. */
            lies_at: string | null;
            /** @description Units in no unopened pack. */
            loose: components["schemas"]["Decimal"];
            /** @description The material. */
            material: components["schemas"]["Called"];
            /** @description Carried here from elsewhere. */
            moved_in: components["schemas"]["Decimal"];
            /** @description Carried elsewhere. */
            moved_out: components["schemas"]["Decimal"];
            /** @description The name of a pack; null where it is not sold in packs. */
            pack_unit: string | null;
            /** @description Returned. */
            returned: components["schemas"]["Decimal"];
            /** @description Unopened packs; null where it is not sold in packs. */
            sealed_packs: components["schemas"]["Decimal"] | null;
            /** @description Where. */
            site: components["schemas"]["Called"] | null;
            /** @description The unit it is counted in. */
            unit: string | null;
            /** @description Last day it can be used, as last counted. */
            use_by: components["schemas"]["Day"] | null;
            /** @description Used. */
            used: components["schemas"]["Decimal"];
            /** @description What is left, at cost; null where it is not valued. */
            value: components["schemas"]["Amount"] | null;
            /** @description Thrown away. */
            wasted: components["schemas"]["Decimal"];
        };
        /** @description One step of the stock of a material at one place. */
        StockStep: {
            /** @description Units there afterwards. */
            balance: components["schemas"]["Decimal"];
            /** @description Units more or, below zero, fewer. */
            change: components["schemas"]["Decimal"];
            /** @description When. */
            day: components["schemas"]["Day"] | null;
            /** @description Of which job. */
            job: components["schemas"]["Called"] | null;
            /** @description The line, use, waste or move. */
            record: components["schemas"]["Called"];
            /** @description Where. */
            site: components["schemas"]["Called"] | null;
            /** @description What happened, in a word or two. */
            what: string;
        };
        /** @description The stock of one material, step by step. */
        StockSteps: {
            /** @description The material. */
            material: components["schemas"]["Called"];
            /** @description Place by place, each in the order in which steps count. */
            steps: components["schemas"]["StockStep"][];
        };
        /** @description How a question might go on. */
        Suggested: {
            /** @description Best first. */
            suggestions: components["schemas"]["Suggestion"][];
            /** @description As it was typed. */
            typed: string;
        };
        /** @description One way to go on with what is being typed. */
        Suggestion: {
            /** @description What kind of thing it is. */
            kind: string;
            /** @description The whole question, gone on. */
            text: string;
            /** @description What that means. */
            words: string;
        };
        /** @description The prices of one supplier. */
        SupplierPrices: {
            /** @description Percent by which the latest differs from the one before. */
            change_percent: components["schemas"]["Decimal"] | null;
            /** @description The latest price of one unit before tax. */
            latest: components["schemas"]["Decimal"] | null;
            /** @description When. */
            latest_day: components["schemas"]["Day"] | null;
            /** @description The lowest price of one unit before tax. */
            lowest: components["schemas"]["Decimal"] | null;
            /** @description When. */
            lowest_day: components["schemas"]["Day"] | null;
            /**
             * Format: int64
             * @description How many times it was bought there.
             */
            purchases: number;
            /** @description The supplier; null for receipts that name none. */
            supplier: components["schemas"]["Called"] | null;
        };
        /** @description One address this device syncs with. */
        SyncPartner: {
            /** @description The device that answered there last. */
            device: components["schemas"]["Id"] | null;
            /** @description Why the last try failed, with what to do; null when it went well. */
            failed: string | null;
            /**
             * Format: int64
             * @description Changes it brought there.
             */
            sent: number | null;
            /** @description How it goes. */
            state: components["schemas"]["SyncState"];
            /** @description When it went well last. */
            synced_at: components["schemas"]["Moment"] | null;
            /**
             * Format: int64
             * @description Changes the last sync that went well brought here; null before the first one since the server started.
             */
            taken: number | null;
            /** @description When it was tried last. */
            tried_at: components["schemas"]["Moment"] | null;
            /**
             * Format: int64
             * @description How often it was tried since the server started.
             */
            tries: number;
            /** @description Where it is. */
            url: string;
            /**
             * Format: int64
             * @description Changes here that were not there after the last sync; null before the first one since the server started.
             */
            waiting: number | null;
        };
        /**
         * @description How it goes with an address.
         * @enum {string}
         */
        SyncState: "not-yet" | "syncing" | "synced" | "failing";
        /** @description With which addresses this device syncs, and how it goes. */
        Syncing: {
            /** @description Address by address. */
            partners: components["schemas"]["SyncPartner"][];
        };
        /** @description What an assembly takes. */
        Takeoff: {
            /** @description The version it is counted against; null where all of it is counted. */
            against: components["schemas"]["Called"] | null;
            /** @description The assembly. */
            assembly: components["schemas"]["Called"];
            /** @description How boards are cut, kind by kind. */
            boards: components["schemas"]["BoardCuts"][];
            /** @description Its cavities. */
            cells: components["schemas"]["Bay"][];
            /** @description How batts are cut; null where no batt is chosen. */
            cuts: components["schemas"]["Cuts"] | null;
            /** @description The version its framing was measured on. */
            framed_by: components["schemas"]["Called"];
            /** @description Share of the face, openings left out, that is wood, percent. */
            framed_percent: components["schemas"]["Number"] | null;
            /** @description All faces together, openings included. */
            gross_wall: components["schemas"]["AreaBoth"];
            /** @description Material by material. */
            needs: components["schemas"]["Need"][];
            /** @description All cavities together. */
            net_cavity: components["schemas"]["AreaBoth"];
            /** @description What could not be counted, with what to write. */
            notes: string[];
            /** @description What the cavities resist as built. */
            resistance: components["schemas"]["BuiltResistance"] | null;
            /** @description Its walls. */
            walls: components["schemas"]["FramedWall"][];
        };
        /** @description One piece of work. */
        Task: {
            /** @description What blocks it. */
            blocked_by: string | null;
            /** @description Day it is due. */
            due: components["schemas"]["Day"] | null;
            /** @description Hours expected. */
            hours: components["schemas"]["Decimal"] | null;
            /** @description The task. */
            id: components["schemas"]["Id"];
            /** @description Its job. */
            job: components["schemas"]["Called"] | null;
            /** @description Its short name. */
            label: string | null;
            /** @description Who does it. */
            owner: components["schemas"]["Called"] | null;
            /** @description Its room. */
            room: components["schemas"]["Called"] | null;
            /**
             * @description How far it is: one of the choices of the field in `/api/kinds`.
             * @example to-do
             */
            state: string | null;
            /** @description What is to be done. */
            title: string | null;
            /** @description Task that must be done before. */
            waits_for: components["schemas"]["Called"] | null;
        };
        /** @description Tasks. */
        Tasks: {
            /** @description Task by task. */
            tasks: components["schemas"]["Task"][];
        };
        /** @description The lines of one tax rate. */
        TaxClass: {
            /** @description The rate, percent; null where none is written. */
            rate_percent: components["schemas"]["Decimal"] | null;
            /** @description Sum of its lines, in the currency of the receipt. */
            taxable: components["schemas"]["Amount"];
        };
        /** @description How many tests there are and count. */
        TestCounts: {
            /**
             * Format: int64
             * @description Of these finished.
             */
            finished: number;
            /**
             * Format: int64
             * @description Of these left out.
             */
            left_out: number;
            /**
             * Format: int64
             * @description Planned.
             */
            planned: number;
        };
        /** @description What a test shows. */
        TestFinding: {
            /** @description What it shows as a bench rig. */
            bench_rig: components["schemas"]["BenchFinding"] | null;
            /** @description Rebuilds measured both ways. */
            both_ways: components["schemas"]["BothWays"][];
            /** @description Its sets by direction and weighting. */
            groups: components["schemas"]["Group"][];
            /** @description The change that answers it. */
            headline: components["schemas"]["Change"] | null;
            /** @description The test. */
            id: components["schemas"]["Id"];
            /** @description Always `test`. */
            kind: components["schemas"]["OfTest"];
            /** @description Its label. */
            label: string;
            /** @description What is measured: one of the choices of the field in `/api/kinds`. */
            measures: string;
            /** @description Sets that are out of results. */
            out: components["schemas"]["SetOut"][];
            /** @description What it shows where it measures another quantity than sound. */
            quantity: components["schemas"]["QuantityFinding"] | null;
            /** @description The question it asks. */
            question: string;
            /** @description What it shows, in sentences. */
            sentences: string[];
            /** @description The rebuild step by step. */
            stages: components["schemas"]["Stages"][];
            /** @description Why it was struck; null where it stands. */
            struck: string | null;
            /** @description Sets that were struck. */
            struck_sets: components["schemas"]["SetOut"][];
            /** @description Surface temperatures, smoke and moisture of such a test by state; `quantity` holds all that it shows. */
            thermal: components["schemas"]["ThermalFinding"] | null;
            /** @description Untouched walls measured beside it. */
            untouched: components["schemas"]["Group"][];
        };
        /** @description The plan of a test. */
        TestPlan: {
            /** @description Cautions. */
            cautions: string[];
            /** @description Conditions to hold. */
            conditions: components["schemas"]["SheetCondition"][];
            /** @description How long that takes, minutes. */
            minutes: components["schemas"]["Number"];
            /** @description Which numbers are missing, where there are none. */
            missing: string | null;
            /** @description Its numbers. */
            numbers: components["schemas"]["PlanNumbers"] | null;
            /** @description In which order. */
            order: components["schemas"]["PlannedOrder"];
            /** @description Photos to take before. */
            photos: string[];
            /** @description The best grade it can reach. */
            reachable_grade: components["schemas"]["Grade"];
            /**
             * Format: int64
             * @description All readings of all rounds.
             */
            readings: number;
            /**
             * Format: int64
             * @description Seed of the drawn order.
             */
            seed: number;
            /** @description The plan in sentences. */
            sentences: string[];
            /** @description The sheet as text, to print. */
            sheet: string;
            /** @description The test. */
            test: components["schemas"]["Called"] | null;
            /** @description The change worth finding. */
            wanted: components["schemas"]["Number"];
            /**
             * Format: double
             * @description The chance of finding it that is wanted, 0 to 1.
             */
            wanted_chance: number;
            /** @description What would lift it. */
            would_lift: string[];
        };
        /** @description A test in the list of tests. */
        TestRow: {
            /** @description Whether it is a bench rig. */
            bench_rig: boolean;
            /** @description Its change, dB. */
            change: components["schemas"]["Estimate"] | null;
            /** @description Whether its change may be claimed. */
            claim: components["schemas"]["Claim"] | null;
            /** @description How good the comparison was. */
            grade: components["schemas"]["Letter"] | null;
            /** @description The job that planned it. */
            job: components["schemas"]["Called"] | null;
            /** @description What is measured. */
            measures: string | null;
            /** @description Day it was planned. */
            planned: components["schemas"]["Day"] | null;
            /** @description What it shows, in its first sentence. */
            sentence: string | null;
            /** @description Its sets. */
            sets: components["schemas"]["SetInRow"][];
            /** @description The test. */
            test: components["schemas"]["Called"];
            /** @description Weighting of the readings. */
            unit: string | null;
        };
        /** @description A test in full. */
        TestSheet: {
            /** @description Its conditions. */
            conditions: components["schemas"]["ConditionRow"][];
            /** @description What it shows. */
            finding: components["schemas"]["TestFinding"] | null;
            /** @description The job that planned it. */
            job: components["schemas"]["Called"] | null;
            /** @description Its positions: source first, then receive, by label. */
            positions: components["schemas"]["Record"][];
            /** @description Its sets, by day. */
            sets: components["schemas"]["SetSheet"][];
            /** @description The test. */
            test: components["schemas"]["Record"];
        };
        /** @description Every test, newest first, and what a device needs to judge one without the notebook. */
        Tests: {
            /** @description The rule for the room's own noise. */
            background_rule: components["schemas"]["BackgroundRule"];
            /** @description What the tests give to the pooled spreads, used yet or not. */
            spreads: components["schemas"]["SpreadOf"][];
            /** @description Test by test. */
            tests: components["schemas"]["TestRow"][];
        };
        /** @description What a thermal test shows. */
        ThermalFinding: {
            /** @description How much warmer it was outside the second time, K. */
            outside_difference_k: components["schemas"]["Number"] | null;
            /** @description In a sentence. */
            sentence: string;
            /** @description Its states, oldest first. */
            states: components["schemas"]["ThermalState"][];
            /** @description Change of the surface factor; no unit. */
            surface_factor_change: components["schemas"]["Number"] | null;
            /** @description The test. */
            test: components["schemas"]["Called"];
        };
        /** @description One state of a thermal test. */
        ThermalState: {
            /** @description Why there is none. */
            absent: string | null;
            /** @description Label of the assembly. */
            assembly: string;
            /** @description Its day. */
            date: components["schemas"]["Day"] | null;
            /** @description Air inside, °C. */
            inside_c: components["schemas"]["Number"] | null;
            /** @description Moisture of the wood, %. */
            moisture_percent: components["schemas"]["Number"] | null;
            /** @description Air outside, °C. */
            outside_c: components["schemas"]["Number"] | null;
            /** @description The set. */
            set: components["schemas"]["Called"];
            /** @description Places where smoke was drawn in, a count. */
            smoke_paths: components["schemas"]["Number"] | null;
            /**
             * Format: int64
             * @description How many spots of the surface were read.
             */
            spots: number;
            /** @description Mean of the surface, °C. */
            surface_c: components["schemas"]["Number"] | null;
            /** @description Surface less outside, of inside less outside; no unit. */
            surface_factor: components["schemas"]["Number"] | null;
        };
        /** @description A thickness or a spacing either way. */
        Thickness: {
            /** @description Inches. */
            inches: components["schemas"]["Number"];
            /** @description Millimetres. */
            mm: components["schemas"]["Number"];
        };
        /** @description One day: what was done where, hours, purchases, the jobs that run, open tasks, what looks wrong. */
        Today: {
            /** @description The day shown. */
            day: components["schemas"]["Day"];
            /** @description Whether it was picked because it is the last with an entry. */
            is_last_day_with_an_entry: boolean;
            /** @description What looks wrong, in the whole notebook. */
            marks: components["schemas"]["Mark"][];
            /** @description Tasks that are open or blocked at other sites; none where a site is asked for. */
            open_elsewhere: components["schemas"]["Task"][];
            /** @description The sites something was written about, or the one asked for. */
            sites: components["schemas"]["SiteDay"][];
        };
        /** @description One kind of thing that is told. */
        ToldWords: {
            /** @description The kind. */
            what: string;
            /** @description Each of them. */
            words: string[];
        };
        /** @description A record that was written to. */
        Touched: {
            /** @description Its id. */
            id: components["schemas"]["Id"];
            /** @description Its kind. */
            kind: string;
        };
        /** @description What makes a change uncertain. */
        Uncertainty: {
            /** @description What would make it surer. */
            advice: string | null;
            /** @description Degrees of freedom of it. */
            degrees_of_freedom: components["schemas"]["Number"] | null;
            /** @description Whether setup and day come from the crew's own repeats. */
            own_repeats: boolean;
            /** @description Whether the scatter is taken from several tests of the kind together. */
            scatter_is_pooled: boolean;
            /** @description Its sources. */
            shares: components["schemas"]["Share"][];
            /** @description Standard uncertainty of the change, dB. */
            u: components["schemas"]["Number"] | null;
        };
        /**
         * @description Whether one side is better than another.
         * @enum {string}
         */
        Verdict: "clearly better" | "probably better" | "cannot tell";
        /** @description A member's word for a device that the server has not met yet, as it stands in the device's own first change. */
        VouchBody: {
            /** @description The public key of the device, 64 digits. */
            key: string;
            /**
             * @description What the device may do: `keeper`, `crew` or `viewer`.
             * @example crew
             */
            role: string;
            /** @description Ed25519 signature by the member's key, 128 digits. */
            signature: string;
            /** @description The member. */
            voucher: components["schemas"]["Id"];
        };
        /** @description What the wall itself is expected to lose, dB. */
        WallLoss: {
            /** @description High. */
            high: components["schemas"]["Number"];
            /** @description Low. */
            low: components["schemas"]["Number"];
            /** @description Where the values come from. */
            source: string;
            /** @description Typical. */
            typical: components["schemas"]["Number"];
        };
        /** @description Walls of one kind over the jobs. */
        WallPool: {
            /** @description Grades A and B together. */
            average: components["schemas"]["Average"];
            /** @description What it cost. */
            cost: components["schemas"]["PoolCost"];
            /** @description What is said of such walls elsewhere. */
            elsewhere: components["schemas"]["Elsewhere"];
            /** @description By kind of fill. */
            fills: components["schemas"]["OfFill"][];
            /**
             * Format: int64
             * @description Jobs of grades A and B.
             */
            jobs: number;
            /** @description The kind, in words. */
            label: string;
            /** @description Of this kind, but not counted. */
            left_out: components["schemas"]["NotCounted"][];
            /** @description Whether an opening limits them. */
            opening_limited: boolean;
            /** @description Job by job. */
            rows: components["schemas"]["Row"][];
            /** @description What may be said, most important first. */
            sentences: string[];
            /**
             * Format: int64
             * @description Tests behind them.
             */
            tests: number;
            /** @description Weighting of the readings. */
            unit: string | null;
            /** @description With grade C counted too, where there is one. */
            with_grade_c: components["schemas"]["Average"] | null;
        };
        /** @description From least to most over several walls. */
        WallRange: {
            /** @description Most, dB. */
            high: components["schemas"]["Number"];
            /** @description Least, dB. */
            low: components["schemas"]["Number"];
            /**
             * Format: int64
             * @description How many walls.
             */
            walls: number;
        };
        /** @description Walls over the jobs. */
        Walls: {
            /** @description How alike walls are that count together. */
            alike: components["schemas"]["Alike"];
            /** @description The same in words. */
            alike_in: string;
            /** @description Kinds of rebuilds by cost and change. */
            by_cost: components["schemas"]["ByCost"][];
            /** @description What counts in no table. */
            left_out: components["schemas"]["NotCounted"][];
            /** @description Which of the two tables. */
            measure: components["schemas"]["MeasureWord"];
            /** @description What to know about these tables. */
            notes: string[];
            /** @description Kind by kind, most jobs first. */
            pools: components["schemas"]["WallPool"][];
            /** @description How many tests there are and count. */
            tests: components["schemas"]["TestCounts"];
        };
        /** @description The change in one direction. */
        Way: {
            /** @description The change, dB. */
            change: components["schemas"]["Number"];
            /** @description Which way the sound went, in words. */
            direction: string;
        };
        /**
         * @description Why changes are kept aside.
         * @enum {string}
         */
        WhyName: "unsigned" | "membership" | "forked";
        /** @description The average without one of its jobs. */
        WithoutOne: {
            /** @description The job left out. */
            job: components["schemas"]["Called"] | null;
            /** @description Whether that moves the average by more than its standard error. */
            moves: boolean;
            /** @description The average of the others, dB. */
            value: components["schemas"]["Number"];
        };
        /** @description What the result of a job, or of the chain of jobs on one wall, cost. */
        Worth: {
            /** @description The change, dB. */
            change: components["schemas"]["Number"] | null;
            /** @description Whether it may be claimed as a number. */
            claimed: boolean;
            /** @description The jobs, oldest first. */
            jobs: components["schemas"]["Called"][];
            /** @description Cost of a decibel, where the change is claimed. A line to learn from, not a ranking. */
            per_db: components["schemas"]["Amount"] | null;
            /** @description Cost of a square foot. */
            per_ft2: components["schemas"]["Amount"] | null;
            /** @description Cost of a square metre. */
            per_m2: components["schemas"]["Amount"] | null;
            /** @description What they cost together. */
            total: components["schemas"]["Amount"];
        };
        /** @description One value for one field of one record. */
        WriteBody: {
            /**
             * @description The field, one of the kind's, or `struck`: text there strikes the record, null brings it back, both with a
             *     reason.
             * @example text
             */
            field: string;
            /**
             * @description Its kind, one of `/api/kinds`.
             * @example entry
             */
            kind: string;
            /**
             * @description Why; asked for when a reading or the like is corrected, and when a record is struck or brought back.
             * @example digits swapped on the display
             */
            reason?: string | null;
            /** @description The record: one that is there, or a new one under an id made by whoever writes. */
            record: components["schemas"]["Id"];
            /** @description The heads of the field that the form showed: these are written over, others are kept beside. */
            seen?: components["schemas"]["Head"][];
            /**
             * @description The value as a person types it; a record by its id; null clears the field.
             * @example Opened the wall, moved two boxes.
             */
            value: string | null;
        };
        /** @description A figure. */
        WriteUpFigure: {
            /** @description The line below it. */
            caption: string;
            /** @description Its name. */
            name: string;
        };
        /** @description A file. */
        WriteUpFile: {
            /** @description Its size. */
            bytes: number;
            /** @description Its media type. */
            media_type: string;
            /** @description Where it lies in the write-up's folder. */
            path: string;
        };
        /** @description A result in large print. */
        WriteUpHeadline: {
            /** @description The answer in a few words. */
            big: string;
            /** @description Whether it may be claimed. */
            claimed: boolean;
            /** @description What was held constant, in short lines. */
            conditions: string[];
            /** @description What it cost, in short lines. */
            cost: string[];
            /** @description Name of the figure to show with it. */
            figure: string | null;
            /** @description Grade of the comparison. */
            grade: string | null;
            /** @description What it is of. */
            label: string;
            /** @description What it does not show, in short lines. */
            limits: string[];
            /** @description How sure. */
            range: string | null;
            /** @description The answer in a sentence. */
            sentence: string;
            /** @description What was asked or done. */
            title: string;
        };
        /** @description A result or a figure that the author may leave out. */
        WriteUpPart: {
            /** @description Whether it is left out. */
            left_out: boolean;
            /** @description The name that leaves it out, as a `writeup` record keeps it. */
            name: string;
            /** @description What it is. */
            words: string;
        };
        /** @description A photograph. */
        WriteUpPhoto: {
            /** @description Its size as it goes out. */
            bytes: number;
            /** @description What it shows. */
            caption: string;
            /** @description Its file name. */
            name: string;
            /** @description How much of the camera's notes was taken out. */
            taken_out_bytes: number;
        };
        /** @description A photograph that could go along. */
        WriteUpPicture: {
            /** @description What it shows. */
            caption: string | null;
            /** @description Its content, as `/api/attachments` names it. The file may still be on another device. */
            hash: components["schemas"]["Hash"] | null;
            /** @description Its record. */
            id: components["schemas"]["Id"];
            /** @description Its file name. */
            name: string | null;
        };
        /** @description A write-up: what is in it, what leaves the notebook with it, and what its author should know. */
        WriteUpPreview: {
            /** @description The jobs and tests it was asked about, in their order; none for a question. */
            about: components["schemas"]["Called"][];
            /** @description The day it bears. */
            date: components["schemas"]["Day"];
            /** @description Gifts and ties, as the author wrote them. */
            disclosure: string | null;
            /** @description Its figures. */
            figures: components["schemas"]["WriteUpFigure"][];
            /** @description The files that were made of it. */
            files: components["schemas"]["WriteUpFile"][];
            /** @description SHA-256 of the list of these files, as an `edition` record keeps it. */
            hash: string | null;
            /** @description Its results in large print. */
            headlines: components["schemas"]["WriteUpHeadline"][];
            /** @description Labels of its jobs. */
            jobs: string[];
            /** @description What stays in it. */
            kept_back: components["schemas"]["KeptBack"][];
            /** @description Licence of its data, SPDX. */
            licence: string;
            /** @description Where it stands on the web. */
            link: string | null;
            /** @description The numbers it prints, each a line `name = value`: what an `edition` record keeps. */
            numbers: string;
            /** @description Results and figures its author may leave out, also those that are left out. */
            parts: components["schemas"]["WriteUpPart"][];
            /** @description Its photographs. */
            photos: components["schemas"]["WriteUpPhoto"][];
            /** @description Photographs that could go along: those pinned to what it is about. */
            pictures: components["schemas"]["WriteUpPicture"][];
            /** @description A short text to post. */
            post: string;
            /** @description Its sections, in their order. */
            sections: components["schemas"]["WriteUpSection"][];
            /** @description Its name for files and addresses. */
            slug: string;
            /** @description Numbers the newest edition printed otherwise. */
            stale: components["schemas"]["StaleNumber"][];
            /** @description The answer in a few sentences. */
            summary: string;
            /** @description Labels of its tests. */
            tests: string[];
            /** @description Its title. */
            title: string;
            /** @description What leaves the notebook. */
            told: components["schemas"]["ToldWords"][];
            /** @description The day its numbers last became others than in its first edition. */
            updated: components["schemas"]["Day"] | null;
            /** @description What its author should know before it goes out. */
            warnings: string[];
            /** @description Stored write-ups whose words were used, by label, though none was named. */
            words_from: string[];
            /** @description The stored write-up it was made from. */
            writeup: components["schemas"]["Called"] | null;
        };
        /** @description A section. */
        WriteUpSection: {
            /** @description How many figures. */
            figures: number;
            /** @description Its heading. */
            heading: string;
            /** @description Its name, as typed. */
            name: components["schemas"]["SectionWord"];
            /** @description How many notes of the program on the author's words. */
            notes: number;
            /** @description Why it cannot be left out; null where it can. */
            stays_because: string | null;
            /** @description How many tables it has. */
            tables: number;
        };
    };
    responses: {
        /** @description `not-json`: The body is not JSON. `bad-body`: The body is JSON of another shape than asked for. `bad-path`: A part of the address cannot be read. `bad-query`: What stands behind the question mark cannot be read. `cut-off`: The body ended before its end. */
        Refused400: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `no-session`: This browser is not let in. `wrong-key`: The key does not open this notebook, or was used already. `wrong-code`: The code lets nobody in. `no-device-key`: The device is not let in, or its key has ended. */
        Refused401: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `role-too-low`: Whoever was let in with this role may not do that. `wrong-proof`: The proof does not show which device asks. `not-a-member`: This device is no member of the notebook. `device-revoked`: This device was revoked. `not-for-this-key`: What lets you in does not open this address. `wrong-origin`: A page of another address may not ask this. `may-not-write`: This device may not write to the notebook. */
        Refused403: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `no-such-session`: There is no such browser. `no-such-device`: There is no such device. `no-such-route`: There is nothing at this address. `no-such-record`: There is no such record. `no-such-file`: The file is not on this device. `not-here-yet`: The file is in the notebook, but not on this device yet. `no-picture`: There is no small copy of this file. `no-finding`: There is nothing to compute a finding from yet. */
        Refused404: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `method-not-allowed`: This address cannot be asked in this way. */
        Refused405: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `too-slow`: The body stopped arriving. */
        Refused408: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `revoked-already`: The device is revoked already. `not-revoked`: There is nothing to let in. `only-keeper`: The last keeper cannot be revoked. `device-known`: The device is known already. `conversation-over`: The conversation is not known here, or is over. `draft-reused`: The draft's id is held already with other content. `other-notebook`: This is meant for another notebook. `sync-first`: The draft was based on changes that are not here yet. `several-records`: More than one record is called that. `file-not-named`: No record on this device names the file. `other-size`: A record says another size of this file. `other-list`: The file is arriving under another list of its parts. `part-too-early`: A part before this one is missing. `no-backup-folder`: The server was started without a folder for backups. `notebook-not-empty`: The notebook holds work of its own already. */
        Refused409: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `body-too-large`: The body is larger than is taken. `file-too-large`: The file is larger than is taken. */
        Refused413: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `wrong-media-type`: The body is not said to be JSON. */
        Refused415: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `bad-range`: The file does not have the part that was asked for. */
        Refused416: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `wrong-host`: The server does not answer under this name. */
        Refused421: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `value-refused`: A value is refused. `unknown-kind`: There is no such kind of record in this version. `unknown-field`: The kind has no such field in this version. `reason-missing`: The change needs a reason. `other-spelling`: A value is not in its one stored form. `draft-refused`: The draft is not legal. `unknown-author`: The author is not a person of this notebook. `list-refused`: The list of parts does not lead to the file's hash. `part-refused`: The part is not what the file's hash asks for. `no-recording`: The file cannot be measured as it was asked for. `file-empty`: The file is empty. */
        Refused422: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `slow-down`: Too much was asked in a short time. */
        Refused429: {
            headers: {
                /** @description When to send it again, seconds from now. */
                "Retry-After"?: number;
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `file-altered`: The file has changed on the disk since it was kept. `backup-failed`: The backup could not be made. `internal`: Something failed in the server. */
        Refused500: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `busy`: The server has its hands full. `closing`: The server is closing. */
        Refused503: {
            headers: {
                /** @description When to send it again, seconds from now. */
                "Retry-After"?: number;
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description `disk`: The disk is full. */
        Refused507: {
            headers: {
                [name: string]: unknown;
            };
            content: {
                "application/problem+json": components["schemas"]["Problem"];
            };
        };
        /** @description What the client holds, as If-None-Match says, is what would be sent. */
        Unchanged: {
            headers: {
                /** @description Which state of the view this is; send it back as If-None-Match. */
                ETag?: string;
                [name: string]: unknown;
            };
            content?: never;
        };
    };
    parameters: never;
    requestBodies: never;
    headers: never;
    pathItems: never;
}
export type $defs = Record<string, never>;
export interface operations {
    post_attachment: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description The bytes of the file, as they are. */
        requestBody: {
            content: {
                "application/octet-stream": number[];
            };
        };
        responses: {
            /** @description A file of the same content was here already. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["FileKept"];
                };
            };
            /** @description The file is kept. */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["FileKept"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            413: components["responses"]["Refused413"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    post_attachments_fetch: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description The files. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["FilesOffered"];
            };
        };
        responses: {
            /** @description How they stand here. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["FileStandings"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    post_attachments_wanted: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description Files that the other device has or misses. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["FilesOffered"];
            };
        };
        responses: {
            /** @description How they stand here. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["FileStandings"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_attachment: {
        parameters: {
            query?: {
                /**
                 * @description The name under which a browser saves it.
                 * @example boxes.jpg
                 */
                name?: string;
            };
            header?: {
                /**
                 * @description One part of the file, in bytes.
                 * @example bytes=0-1023
                 */
                Range?: string | null;
            };
            path: {
                /**
                 * @description BLAKE3 hash of its content, 64 digits.
                 * @example af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262
                 */
                hash: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The file. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Always `bytes`. */
                    "accept-ranges"?: string;
                    /** @description The hash. */
                    etag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/octet-stream": unknown;
                    "image/png": unknown;
                    "image/jpeg": unknown;
                    "image/webp": unknown;
                    "image/gif": unknown;
                    "audio/wav": unknown;
                };
            };
            /** @description The part that was asked for. */
            206: {
                headers: {
                    /** @description Which part of how much. */
                    "content-range"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/octet-stream": unknown;
                    "image/png": unknown;
                    "image/jpeg": unknown;
                    "image/webp": unknown;
                    "image/gif": unknown;
                    "audio/wav": unknown;
                };
            };
            /** @description The client has it already. */
            304: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            416: components["responses"]["Refused416"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_attachment_parts: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The file. */
                hash: components["schemas"]["Hash"];
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The list. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/octet-stream": number[];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    put_attachment_parts: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The file. */
                hash: components["schemas"]["Hash"];
            };
            cookie?: never;
        };
        /** @description The list of its parts. */
        requestBody: {
            content: {
                "application/octet-stream": number[];
            };
        };
        responses: {
            /** @description How the file stands here. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["FileStanding"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    put_attachment_part: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The file. */
                hash: components["schemas"]["Hash"];
                /**
                 * @description Which of its mebibytes, counted from 0.
                 * @example 0
                 */
                index: number;
            };
            cookie?: never;
        };
        /** @description The part, whole. */
        requestBody: {
            content: {
                "application/octet-stream": number[];
            };
        };
        responses: {
            /** @description How the file stands here. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["FileStanding"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    get_attachment_thumbnail: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The picture. */
                hash: components["schemas"]["Hash"];
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The small copy. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "image/jpeg": number[];
                };
            };
            /** @description The client has it already. */
            304: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_backups: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The backups. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Backups"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    post_backup: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description It is made and was read back whole. */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Backup"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    get_cautions: {
        parameters: {
            query?: {
                /** @description A job, site, assembly or test, by label, id or `kind:label`; without it, every job. */
                about?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description One by one. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Cautions"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_compare: {
        parameters: {
            query: {
                /** @description A set or an assembly, by label, id or `kind:label`; named once for each. */
                of: string[];
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Side by side. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["SideBySide"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_compare_couplings: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The comparison. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Comparison"];
                };
            };
            304: components["responses"]["Unchanged"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_compare_fills: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The comparison. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Comparison"];
                };
            };
            304: components["responses"]["Unchanged"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_compare_jobs: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The rows. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["AcrossJobs"];
                };
            };
            304: components["responses"]["Unchanged"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_compare_question: {
        parameters: {
            query: {
                /**
                 * @description The question.
                 * @example cellulose against glass fibre in 2x4 walls, boarded
                 */
                words: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The answer. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Answer"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_compare_walls: {
        parameters: {
            query?: {
                /** @description Changes by rebuilds, or level differences of walls. */
                measure?: "change" | "level-difference";
                /** @description How alike walls are that count together. */
                alike?: "same" | "near" | "family";
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Kind by kind. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Walls"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_conflicts: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The conflicts. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Conflicts"];
                };
            };
            304: components["responses"]["Unchanged"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_devices: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The devices. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Devices"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    let_in_device: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The device. */
                device: components["schemas"]["Id"];
            };
            cookie?: never;
        };
        /** @description Why. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["DecideBody"];
            };
        };
        responses: {
            /** @description It is let in. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Device"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    let_in_branch: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The device. */
                device: components["schemas"]["Id"];
            };
            cookie?: never;
        };
        /** @description Why. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["DecideBody"];
            };
        };
        responses: {
            /** @description What became of it. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["BranchTaken"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    name_device: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The device. */
                device: components["schemas"]["Id"];
            };
            cookie?: never;
        };
        /** @description What it is called. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["NameBody"];
            };
        };
        responses: {
            /** @description It is called so. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Device"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    revoke_device: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /** @description The device. */
                device: components["schemas"]["Id"];
            };
            cookie?: never;
        };
        /** @description Why. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["DecideBody"];
            };
        };
        responses: {
            /** @description It is revoked. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Device"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    put_draft: {
        parameters: {
            query?: never;
            header?: {
                /** @description The notebook that the draft is meant for, by its id; one that is kept for later may meet another notebook at the same address. */
                "storypole-notebook"?: components["schemas"]["Id"] | null;
            };
            path: {
                /**
                 * @description Names the draft; made by whoever wrote it, a UUIDv7.
                 * @example 01957a20-3c00-7b11-8a6e-5d2f4c1b9e70
                 */
                id: components["schemas"]["Id"];
            };
            cookie?: never;
        };
        /** @description What was written. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["DraftBody"];
            };
        };
        responses: {
            /** @description The same draft was taken before. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["DraftTaken"];
                };
            };
            /** @description The draft is taken. */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["DraftTaken"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    get_entries: {
        parameters: {
            query?: {
                /** @description Only of this site, by label or id. */
                site?: string;
                /** @description Only of this job, by label or id. */
                job?: string;
                /** @description First day. */
                from?: components["schemas"]["Day"];
                /** @description Last day. */
                to?: components["schemas"]["Day"];
                /** @description Most lines of the page. */
                limit?: number;
                /** @description The `next` of the page before. */
                after?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description A page of it. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["EntryPage"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_events: {
        parameters: {
            query?: never;
            header?: {
                /**
                 * @description The id of the last event that came.
                 * @example 5f0c9a1e-42-0
                 */
                "Last-Event-ID"?: string | null;
            };
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The stream. It ends when the session or the server does. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    /**
                     * @example event: changed
                     *     id: 5f0c9a1e-43-0
                     *     data: {"position":"5f0c9a1e-43-0","touched":[{"kind":"entry","id":"01955e73-c400-7201-a36d-396cbc6abe48"}]}
                     */
                    "text/event-stream": string;
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    post_example: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The example is in. */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ExampleTaken"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    get_files: {
        parameters: {
            query: {
                /**
                 * @description The record they are pinned to, by label, id or `kind:label`.
                 * @example assembly:A03
                 */
                about: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The files. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PinnedFiles"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_find: {
        parameters: {
            query: {
                /**
                 * @description The question in plain words. `"a phrase"`, `-word` and comparisons such as `over 6 dB`, `at least 3.5 in`,
                 *     `under $5 a square foot`, `since March`, `at the duplex` are understood.
                 * @example cellulose over 3 dB
                 */
                words: string;
                /** @description `1` while the last word is still being typed. */
                typing?: boolean;
                /** @description Only records of this kind; may be given more than once, as every filter may. */
                kind?: string[];
                /** @description Only at this site, by label or id. */
                site?: string[];
                /** @description Only with this fill; `empty` for none. */
                fill?: string[];
                /** @description Only with leaves tied like this. */
                frame?: string[];
                /** @description Only in this state of the work. */
                state?: string[];
                /** @description Only with a result of this grade. */
                grade?: string[];
                /** @description Only of this year. */
                year?: string[];
                /** @description `match`, `date` or `reduction`. */
                sort?: string;
                /** @description Most hits of each kind; 5 where nothing is said, 20 with `after`. */
                limit?: number;
                /** @description Where the page of a kind begins: `next` of the page before. Goes with exactly one `kind`. */
                after?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description What is found. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Found"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_find_alike: {
        parameters: {
            query?: {
                /** @description `same`, `near` or `family`. */
                level?: string;
                /** @description Most walls. */
                limit?: number;
                /** @description Where the page begins: `next` of the page before. */
                after?: string;
            };
            header?: never;
            path: {
                /**
                 * @description Label or id of an assembly.
                 * @example A10
                 */
                assembly: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The walls, most alike first. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["BuiltAlike"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_find_suggest: {
        parameters: {
            query: {
                /**
                 * @description The question so far.
                 * @example cell
                 */
                typed: string;
                /** @description Most suggestions. */
                limit?: number;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description How it might go on. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Suggested"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_assembly_finding: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Its label or id.
                 * @example A03
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The finding. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["AssemblyFinding"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_job_finding: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Its label or id.
                 * @example J1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The finding. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JobFinding"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_set_finding: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Its label or id.
                 * @example T06
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The finding. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["SetFinding"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_test_finding: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Its label or id.
                 * @example Q1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The finding. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["TestFinding"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_health: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description It is well. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Health"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_invitations: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description What is out. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Invitations"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    invite: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description Whom to let in. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["InviteBody"];
            };
        };
        responses: {
            /** @description The code. */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Invited"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    end_invitation: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description None is out any more. */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_jobs: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The jobs. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JobsTable"];
                };
            };
            304: components["responses"]["Unchanged"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_job: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Its label or id.
                 * @example J1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The job. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JobSheet"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_job_cost: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Label or id of a job.
                 * @example J1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The cost. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JobCost"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    finish_join: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description Who the device is, with its proof. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["FinishBody"];
            };
        };
        responses: {
            /** @description The device is invited. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JoinedDevice"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    start_join: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description The device's half of the proof. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["StartBody"];
            };
        };
        responses: {
            /** @description The server's half. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["JoinStarted"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_kinds: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The kinds. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Kinds"];
                };
            };
            304: components["responses"]["Unchanged"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_marks: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The marks. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Marks"];
                };
            };
            304: components["responses"]["Unchanged"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_material_prices: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Label or id of a material.
                 * @example board-58x
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The prices. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Prices"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_material_stock: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Label or id of a material.
                 * @example batt-r13
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The steps. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["StockSteps"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_next: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Best first. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Next"];
                };
            };
            304: components["responses"]["Unchanged"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_document: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description This document. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": unknown;
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_problem: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description The code.
                 * @example no-such-record
                 */
                code: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description What it means. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ProblemKind"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_receipts: {
        parameters: {
            query?: {
                /** @description Only those of this job, or with a line booked to it, by label or id. */
                job?: string;
                /** @description Most receipts of the page. */
                limit?: number;
                /** @description The `next` of the page before. */
                after?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description A page of them. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ReceiptPage"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_receipt: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Its label or id.
                 * @example P02
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The receipt. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Receipt"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_recording: {
        parameters: {
            query?: {
                /**
                 * @description Level of a full-scale sine in the recording, dB re 20 µPa.
                 * @example 117
                 */
                full_scale?: number;
                /** @description The meter, by label or id, for which full scale is noted. */
                meter?: string;
                /** @description Hash of a recording of a calibrator with the same gain. */
                calibration?: string;
                /** @description Level of that calibrator, dB. */
                calibrator?: number;
                /** @description Frequency of that calibrator, Hz: 1000 or 250. */
                tone?: number;
                /** @description Which channel of the recording, counted from 1. */
                channel?: number;
                /** @description Weighting of the reading: `dBA`, `dBC` or `dBZ`. */
                unit?: string;
                /** @description What to cut out, a line each: `12-15 a truck passed`, in seconds or minutes:seconds. */
                cut?: string;
            };
            header?: never;
            path: {
                /** @description The recording. */
                hash: components["schemas"]["Hash"];
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description What it gave. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RecordingMeasured"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_records: {
        parameters: {
            query?: {
                /** @description Most records of the page. */
                limit?: number;
                /** @description The `next` of the page before. */
                after?: string;
                /** @description Whether struck records are listed too. */
                struck?: boolean;
            };
            header?: never;
            path: {
                /**
                 * @description A kind, as `/api/kinds` names it.
                 * @example reading
                 */
                kind: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description A page of them. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RecordPage"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_record: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description A kind, as `/api/kinds` names it.
                 * @example receipt
                 */
                kind: string;
                /**
                 * @description Its label or id. A position's label stands within its test: `Q1/R2`.
                 * @example P02
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The record. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RecordSheet"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_history: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description A kind, as `/api/kinds` names it.
                 * @example move
                 */
                kind: string;
                /**
                 * @description Its label or id.
                 * @example X2
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Write by write. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["History"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_session: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The session. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Session"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    open_session: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description The key or the code, one of them. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeyBody"];
            };
        };
        responses: {
            /** @description This browser is let in. */
            201: {
                headers: {
                    /** @description The session, for 90 days. */
                    "set-cookie"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Session"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            422: components["responses"]["Refused422"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    end_session: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The session has ended. */
            204: {
                headers: {
                    /** @description Takes the cookie away. */
                    "set-cookie"?: string;
                    [name: string]: unknown;
                };
                content?: never;
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    get_sessions: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The browsers. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Browsers"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    end_other_sessions: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description They are shut out. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ShutOut"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    end_other_session: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description The browser, by its id.
                 * @example 5f0c9a1e22d4b871
                 */
                session: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description It is shut out. */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    get_sketch: {
        parameters: {
            query?: {
                /**
                 * @description What it is: one of the choices of the field in `/api/kinds`.
                 * @example wall
                 */
                element?: string;
                /**
                 * @description Leaf A, from its room inward.
                 * @example gypsum 12.7 x1, direct
                 */
                leaf_a?: string;
                /**
                 * @description Frame.
                 * @example single wood 38x89@406
                 */
                frame?: string;
                /**
                 * @description Cavity and fill.
                 * @example 89 clear, cellulose 89
                 */
                cavity?: string;
                /**
                 * @description Leaf B, from its room inward.
                 * @example gypsum 15.9 x2, direct
                 */
                leaf_b?: string;
                /**
                 * @description Doors, windows, boxes.
                 * @example none
                 */
                openings?: string;
                /**
                 * @description Perimeter seals.
                 * @example A 1, B 1
                 */
                seals?: string;
                /**
                 * @description State of the work.
                 * @example finished
                 */
                state?: string;
                /**
                 * @description Its length.
                 * @example 150 in
                 */
                length?: string;
                /**
                 * @description Its height.
                 * @example 97 1/8 in
                 */
                height?: string;
                /**
                 * @description What it stands between.
                 * @example rooms
                 */
                between?: string;
                /** @description Face of its studs, as measured. */
                stud_face?: string;
                /** @description Its short name, for the drawing. */
                label?: string;
                /** @description The room on the side of leaf A, for the drawing. */
                side_a?: string;
                /** @description The room on the side of leaf B, for the drawing. */
                side_b?: string;
                /** @description The drawing's ground, dark or light. */
                ground?: "light" | "dark";
                /** @description How wide the drawing is, in units of which small text is 12 high: 400 suits a phone, 800 a sheet. */
                width?: number;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description What it would be. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Sketch"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_sketch_section: {
        parameters: {
            query?: {
                /**
                 * @description What it is: one of the choices of the field in `/api/kinds`.
                 * @example wall
                 */
                element?: string;
                /**
                 * @description Leaf A, from its room inward.
                 * @example gypsum 12.7 x1, direct
                 */
                leaf_a?: string;
                /**
                 * @description Frame.
                 * @example single wood 38x89@406
                 */
                frame?: string;
                /**
                 * @description Cavity and fill.
                 * @example 89 clear, cellulose 89
                 */
                cavity?: string;
                /**
                 * @description Leaf B, from its room inward.
                 * @example gypsum 15.9 x2, direct
                 */
                leaf_b?: string;
                /**
                 * @description Doors, windows, boxes.
                 * @example none
                 */
                openings?: string;
                /**
                 * @description Perimeter seals.
                 * @example A 1, B 1
                 */
                seals?: string;
                /**
                 * @description State of the work.
                 * @example finished
                 */
                state?: string;
                /**
                 * @description Its length.
                 * @example 150 in
                 */
                length?: string;
                /**
                 * @description Its height.
                 * @example 97 1/8 in
                 */
                height?: string;
                /**
                 * @description What it stands between.
                 * @example rooms
                 */
                between?: string;
                /** @description Face of its studs, as measured. */
                stud_face?: string;
                /** @description Its short name, for the drawing. */
                label?: string;
                /** @description The room on the side of leaf A, for the drawing. */
                side_a?: string;
                /** @description The room on the side of leaf B, for the drawing. */
                side_b?: string;
                /** @description The drawing's ground, dark or light. */
                ground?: "light" | "dark";
                /** @description How wide the drawing is, in units of which small text is 12 high: 400 suits a phone, 800 a sheet. */
                width?: number;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The drawing. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "image/svg+xml": string;
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_stock: {
        parameters: {
            query?: {
                /** @description Only at this site, by label or id. */
                site?: string;
                /** @description Only of this job, by label or id. */
                job?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Row by row. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Stock"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_sync: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description Address by address. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Syncing"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    post_exchange: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description A frame. */
        requestBody: {
            content: {
                "application/octet-stream": number[];
            };
        };
        responses: {
            /** @description A frame. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/octet-stream": number[];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    greet_device: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description Who asks. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["GreetingBody"];
            };
        };
        responses: {
            /** @description Who serves. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Greeting"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            409: components["responses"]["Refused409"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    open_device: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description The proof. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["ProofBody"];
            };
        };
        responses: {
            /** @description The device is let in. */
            201: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["DeviceKeyGiven"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    sync_now: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description It is being done. */
            202: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Syncing"];
                };
            };
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    put_sync_partner: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** @description The address. */
        requestBody: {
            content: {
                "application/json": components["schemas"]["PartnerBody"];
            };
        };
        responses: {
            /** @description It is followed from now on. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Syncing"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            408: components["responses"]["Refused408"];
            413: components["responses"]["Refused413"];
            415: components["responses"]["Refused415"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    delete_sync_partner: {
        parameters: {
            query: {
                /**
                 * @description As the list shows it.
                 * @example https://box.example:8417
                 */
                url: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description It is not followed any more. */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Syncing"];
                };
            };
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
            507: components["responses"]["Refused507"];
        };
    };
    get_takeoff: {
        parameters: {
            query?: {
                /** @description A material to take, by label or id. */
                with?: string;
                /** @description Waste as a fraction, in place of the usual. */
                waste?: components["schemas"]["Decimal"];
                /** @description Count all of it, not only what it adds to the version it replaces. */
                whole?: boolean;
                /** @description Buy batts by the cut plan, offcuts used. */
                by_plan?: boolean;
            };
            header?: never;
            path: {
                /**
                 * @description Label or id of an assembly.
                 * @example A03
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The take-off. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Takeoff"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_takeoff_drawing: {
        parameters: {
            query?: {
                /** @description The wall of an assembly that has several, counted from 1. */
                wall?: number;
            };
            header?: never;
            path: {
                /**
                 * @description Label or id of an assembly.
                 * @example A03
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The drawing. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "image/svg+xml": string;
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_takeoff_section: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Label or id of an assembly.
                 * @example A03
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The drawing. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "image/svg+xml": string;
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_tasks: {
        parameters: {
            query?: {
                /** @description Only of this job, by label or id. */
                job?: string;
                /**
                 * @description Only in this state: one of the choices of the field in `/api/kinds`.
                 * @example to-do
                 */
                state?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The tasks. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Tasks"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_tests: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The tests. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Tests"];
                };
            };
            304: components["responses"]["Unchanged"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_test: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                /**
                 * @description Its label or id.
                 * @example Q1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The test. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["TestSheet"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_test_plan: {
        parameters: {
            query?: {
                /** @description The change worth finding, above zero: dB, or the unit of the test's readings. */
                show?: number;
                /** @description The chance of finding it, were it true. */
                chance?: number;
                /** @description How close the change has to be known, either way. */
                within?: number;
                /** @description Whether the states can be changed to and fro, so that both are read at each position. */
                to_and_fro?: boolean;
                /** @description Seed of the drawn order; the one kept with the test, or else one of the test's own, where none is given. */
                seed?: number;
            };
            header?: never;
            path: {
                /**
                 * @description Its label or id.
                 * @example Q1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The plan. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["TestPlan"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_today: {
        parameters: {
            query?: {
                /** @description The day; without it, the last with an entry. */
                day?: components["schemas"]["Day"];
                /** @description Only this site, by label or id. */
                site?: string;
                /** @description The day it is for whoever asks; without it, by the server's clock. */
                today?: components["schemas"]["Day"];
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The day. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Today"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_writeup: {
        parameters: {
            query?: {
                /** @description The day it bears; without it, today by the server's clock. */
                today?: components["schemas"]["Day"];
                /** @description A question in plain words, where `question` stands in the place of names. */
                question?: string;
            };
            header?: never;
            path: {
                /**
                 * @description Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. `question` for a question.
                 * @example J1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The write-up. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "text/markdown": string;
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_writeup_archive: {
        parameters: {
            query?: {
                /** @description The day it bears; without it, today by the server's clock. */
                today?: components["schemas"]["Day"];
                /** @description A question in plain words, where `question` stands in the place of names. */
                question?: string;
                /**
                 * @description Kinds of files, with commas between: markdown, page, chapters, post, data, cards; without it all.
                 * @example markdown,data
                 */
                formats?: string;
                /**
                 * @description Shapes of cards, with commas between: wide, tall, small; without it all.
                 * @example wide
                 */
                shapes?: string;
            };
            header?: never;
            path: {
                /**
                 * @description Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. `question` for a question.
                 * @example J1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The files. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/zip": number[];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_writeup_card: {
        parameters: {
            query?: {
                /** @description The day it bears; without it, today by the server's clock. */
                today?: components["schemas"]["Day"];
                /** @description A question in plain words, where `question` stands in the place of names. */
                question?: string;
                /** @description Which result, counted from 1. */
                result?: number;
                /** @description On a dark ground or a light one. */
                ground?: "light" | "dark";
                /** @description Without a ground, to be laid over a film. */
                clear?: boolean;
            };
            header?: never;
            path: {
                /**
                 * @description Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. `question` for a question.
                 * @example J1
                 */
                name: string;
                /**
                 * @description Its shape.
                 * @example wide
                 */
                shape: "wide" | "tall" | "small";
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The card. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "image/png": number[];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_writeup_figure: {
        parameters: {
            query?: {
                /** @description The day the write-up bears; without it, today by the server's clock. */
                today?: components["schemas"]["Day"];
                /** @description A question in plain words, where `question` stands in the place of names. */
                question?: string;
                /** @description On a dark ground or a light one. */
                ground?: "light" | "dark";
                /** @description How wide, in units of which small text is 12 high: 400 suits a phone, 800 a sheet. */
                width?: number;
            };
            header?: never;
            path: {
                /**
                 * @description Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. `question` for a question.
                 * @example J1
                 */
                name: string;
                /**
                 * @description Its name, as the preview lists it.
                 * @example section-a03
                 */
                figure: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The figure. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "image/svg+xml": string;
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_writeup_file: {
        parameters: {
            query: {
                /** @description The day the write-up bears; without it, today by the server's clock. */
                today?: components["schemas"]["Day"];
                /** @description A question in plain words, where `question` stands in the place of names. */
                question?: string;
                /**
                 * @description Where it lies in the write-up's folder, as the preview lists it.
                 * @example post.txt
                 */
                path: string;
            };
            header?: never;
            path: {
                /**
                 * @description Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. `question` for a question.
                 * @example J1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The file. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/octet-stream": number[];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_writeup_page: {
        parameters: {
            query?: {
                /** @description The day it bears; without it, today by the server's clock. */
                today?: components["schemas"]["Day"];
                /** @description A question in plain words, where `question` stands in the place of names. */
                question?: string;
            };
            header?: never;
            path: {
                /**
                 * @description Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. `question` for a question.
                 * @example J1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The page. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    [name: string]: unknown;
                };
                content: {
                    "text/html": string;
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
    get_writeup_preview: {
        parameters: {
            query?: {
                /** @description The day it bears; without it, today by the server's clock. */
                today?: components["schemas"]["Day"];
                /** @description A question in plain words, where `question` stands in the place of names. */
                question?: string;
            };
            header?: never;
            path: {
                /**
                 * @description Jobs and tests with commas between, or one write-up: each by its label or id, or as `kind:label`. `question` for a question.
                 * @example J1
                 */
                name: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The preview. */
            200: {
                headers: {
                    /** @description Which state of the view this is; send it back as If-None-Match. */
                    ETag?: string;
                    /** @description Where the log stood when this was read, as the events of `/api/events` name it. */
                    "storypole-position"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["WriteUpPreview"];
                };
            };
            304: components["responses"]["Unchanged"];
            400: components["responses"]["Refused400"];
            401: components["responses"]["Refused401"];
            403: components["responses"]["Refused403"];
            404: components["responses"]["Refused404"];
            409: components["responses"]["Refused409"];
            421: components["responses"]["Refused421"];
            429: components["responses"]["Refused429"];
            500: components["responses"]["Refused500"];
            503: components["responses"]["Refused503"];
        };
    };
}
