-- A mail's bytes lie before its state in the row, so that a scan of the outbox
-- reads every mail that was ever sent. What is asked at every sweep, claim and
-- count is answered from an index.

CREATE INDEX outbox_state ON outbox (state, finished_at);
CREATE INDEX outbox_unsent ON outbox (queued_at) WHERE finished_at IS NULL;
CREATE INDEX outbox_lease ON outbox (lease_until) WHERE lease_until IS NOT NULL;
CREATE INDEX finding_closed ON finding (closed) WHERE closed IS NOT NULL;
