//! What bodies look like filled in: answers about the demo notebook, cut short.
//!
//! Each is a file of its own. Those of views are made by the test `shapes`, which also reads each as its type.

use serde_json::Value;

/// Operation, status of the answer or `body` for what is sent, and the example as JSON.
const EXAMPLES: &[(&str, &str, &str)] = &[
    ("end_other_sessions", "200", include_str!("example/end_other_sessions.json")),
    ("finish_join", "200", include_str!("example/finish_join.json")),
    ("finish_join", "body", include_str!("example/finish_join_body.json")),
    ("get_assembly_finding", "200", include_str!("example/get_assembly_finding.json")),
    ("get_backups", "200", include_str!("example/get_backups.json")),
    ("get_compare", "200", include_str!("example/get_compare.json")),
    ("get_compare_couplings", "200", include_str!("example/get_compare_couplings.json")),
    ("get_compare_fills", "200", include_str!("example/get_compare_fills.json")),
    ("get_compare_jobs", "200", include_str!("example/get_compare_jobs.json")),
    ("get_conflicts", "200", include_str!("example/get_conflicts.json")),
    ("get_devices", "200", include_str!("example/get_devices.json")),
    ("get_document", "200", include_str!("example/get_document.json")),
    ("get_entries", "200", include_str!("example/get_entries.json")),
    ("get_files", "200", include_str!("example/get_files.json")),
    ("get_find", "200", include_str!("example/get_find.json")),
    ("get_health", "200", include_str!("example/get_health.json")),
    ("get_history", "200", include_str!("example/get_history.json")),
    ("get_invitations", "200", include_str!("example/get_invitations.json")),
    ("get_job", "200", include_str!("example/get_job.json")),
    ("get_job_finding", "200", include_str!("example/get_job_finding.json")),
    ("get_jobs", "200", include_str!("example/get_jobs.json")),
    ("get_kinds", "200", include_str!("example/get_kinds.json")),
    ("get_marks", "200", include_str!("example/get_marks.json")),
    ("get_problem", "200", include_str!("example/get_problem.json")),
    ("get_receipt", "200", include_str!("example/get_receipt.json")),
    ("get_receipts", "200", include_str!("example/get_receipts.json")),
    ("get_record", "200", include_str!("example/get_record.json")),
    ("get_records", "200", include_str!("example/get_records.json")),
    ("get_session", "200", include_str!("example/session.json")),
    ("get_sessions", "200", include_str!("example/get_sessions.json")),
    ("get_set_finding", "200", include_str!("example/get_set_finding.json")),
    ("get_stock", "200", include_str!("example/get_stock.json")),
    ("get_tasks", "200", include_str!("example/get_tasks.json")),
    ("get_test", "200", include_str!("example/get_test.json")),
    ("get_test_finding", "200", include_str!("example/get_test_finding.json")),
    ("get_tests", "200", include_str!("example/get_tests.json")),
    ("get_today", "200", include_str!("example/get_today.json")),
    ("get_writeup", "200", include_str!("example/get_writeup.json")),
    ("invite", "201", include_str!("example/invite.json")),
    ("invite", "body", include_str!("example/invite_body.json")),
    ("let_in_branch", "200", include_str!("example/let_in_branch.json")),
    ("let_in_branch", "body", include_str!("example/decide_body.json")),
    ("let_in_device", "200", include_str!("example/let_in_device.json")),
    ("let_in_device", "body", include_str!("example/decide_body.json")),
    ("name_device", "200", include_str!("example/device.json")),
    ("name_device", "body", include_str!("example/name_device_body.json")),
    ("open_session", "201", include_str!("example/session.json")),
    ("open_session", "body", include_str!("example/open_session_body.json")),
    ("post_attachment", "200", include_str!("example/post_attachment.json")),
    ("post_attachment", "201", include_str!("example/post_attachment.json")),
    ("post_attachments_wanted", "200", include_str!("example/post_attachments_wanted.json")),
    ("post_attachments_wanted", "body", include_str!("example/post_attachments_wanted_body.json")),
    ("post_backup", "201", include_str!("example/post_backup.json")),
    ("put_attachment_part", "200", include_str!("example/put_attachment_part.json")),
    ("put_attachment_parts", "200", include_str!("example/put_attachment_part.json")),
    ("put_draft", "200", include_str!("example/put_draft_again.json")),
    ("put_draft", "201", include_str!("example/put_draft.json")),
    ("put_draft", "body", include_str!("example/put_draft_body.json")),
    ("revoke_device", "200", include_str!("example/device.json")),
    ("revoke_device", "body", include_str!("example/decide_body.json")),
    ("start_join", "200", include_str!("example/start_join.json")),
    ("start_join", "body", include_str!("example/start_join_body.json")),
    ("greet_device", "200", include_str!("example/greet_device.json")),
    ("greet_device", "body", include_str!("example/greet_device_body.json")),
    ("open_device", "201", include_str!("example/open_device.json")),
    ("open_device", "body", include_str!("example/open_device_body.json")),
    ("get_sync", "200", include_str!("example/get_sync.json")),
    ("sync_now", "202", include_str!("example/get_sync.json")),
    ("put_sync_partner", "200", include_str!("example/get_sync.json")),
    ("put_sync_partner", "body", include_str!("example/put_sync_partner_body.json")),
    ("delete_sync_partner", "200", include_str!("example/delete_sync_partner.json")),
];

/// The example of an operation's answer of this status, or of what is sent for the word `body`.
pub fn of(operation: &str, status: &str) -> Option<Value> {
    let found = EXAMPLES.iter().find(|(of, at, _)| *of == operation && *at == status);
    found.map(|(.., text)| {
        serde_json::from_str(text).expect("every example is JSON, as a test reads them all")
    })
}
