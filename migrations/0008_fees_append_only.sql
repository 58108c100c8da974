-- The ledgers of fees are append-only, as those of the buckets are.
--> statement-breakpoint
CREATE TRIGGER fee_entries_append_only BEFORE UPDATE OR DELETE ON "fee_entries" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER fee_entries_not_emptied BEFORE TRUNCATE ON "fee_entries" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER fee_postings_append_only BEFORE UPDATE OR DELETE ON "fee_postings" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER fee_postings_not_emptied BEFORE TRUNCATE ON "fee_postings" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER fee_closings_append_only BEFORE UPDATE OR DELETE ON "fee_closings" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER fee_closings_not_emptied BEFORE TRUNCATE ON "fee_closings" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER fee_quotes_append_only BEFORE UPDATE OR DELETE ON "fee_quotes" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER fee_quotes_not_emptied BEFORE TRUNCATE ON "fee_quotes" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER fee_litres_append_only BEFORE UPDATE OR DELETE ON "fee_litres" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER fee_litres_not_emptied BEFORE TRUNCATE ON "fee_litres" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
-- A price list in force is never edited: a better one is a new version.
CREATE FUNCTION refuse_price_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'price list % is in force: make a new version', OLD.number USING ERRCODE = 'restrict_violation';
END
$$;
--> statement-breakpoint
CREATE TRIGGER tariffs_not_changed BEFORE UPDATE OR DELETE ON "tariffs" FOR EACH ROW WHEN (OLD.in_force_at IS NOT NULL) EXECUTE FUNCTION refuse_price_change();
--> statement-breakpoint
-- Checked as the transaction ends: every entry's sides sum to zero, and its payer's side is its amount.
CREATE FUNCTION refuse_unbalanced() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  entry fee_entries%ROWTYPE;
  whole numeric;
  payer numeric;
BEGIN
  IF TG_TABLE_NAME = 'fee_entries' THEN
    entry := NEW;
  ELSE
    SELECT * INTO STRICT entry FROM fee_entries WHERE id = NEW.entry_id;
  END IF;
  SELECT coalesce(sum(amount_minor), 0), coalesce(sum(amount_minor) FILTER (WHERE account_id = entry.account_id), 0)
    INTO whole, payer FROM fee_postings WHERE entry_id = entry.id;
  IF whole <> 0 OR payer <> entry.amount_minor THEN
    RAISE EXCEPTION 'entry % does not balance', entry.number USING ERRCODE = 'check_violation', CONSTRAINT = 'fee_entries_balanced';
  END IF;
  RETURN NULL;
END
$$;
--> statement-breakpoint
CREATE CONSTRAINT TRIGGER fee_entries_balanced AFTER INSERT ON "fee_entries" DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION refuse_unbalanced();
--> statement-breakpoint
CREATE CONSTRAINT TRIGGER fee_postings_balanced AFTER INSERT ON "fee_postings" DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION refuse_unbalanced();
--> statement-breakpoint
-- Nothing is written into a month that is closed.
CREATE FUNCTION refuse_closed_month() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF EXISTS (SELECT 1 FROM fee_books WHERE closed_through >= NEW.period) THEN
    RAISE EXCEPTION '% is closed', NEW.period USING ERRCODE = 'check_violation', CONSTRAINT = 'fee_entries_open_month';
  END IF;
  RETURN NEW;
END
$$;
--> statement-breakpoint
CREATE TRIGGER fee_entries_open_month BEFORE INSERT ON "fee_entries" FOR EACH ROW EXECUTE FUNCTION refuse_closed_month();
