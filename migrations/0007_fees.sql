CREATE TABLE "fee_accounts" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "fee_accounts_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"kind" text NOT NULL,
	"number" integer,
	"key" text,
	"person_id" bigint,
	"group_id" bigint,
	"member_class" text,
	"made_at" timestamptz(3) NOT NULL,
	CONSTRAINT "fee_accounts_kind" CHECK (("fee_accounts"."kind" = 'payer') = (num_nonnulls("fee_accounts"."person_id", "fee_accounts"."group_id") = 1)
        and ("fee_accounts"."kind" = 'payer') = ("fee_accounts"."number" is not null)
        and ("fee_accounts"."kind" = 'payer') = ("fee_accounts"."key" is null))
);
--> statement-breakpoint
CREATE TABLE "fee_books" (
	"id" smallint PRIMARY KEY DEFAULT 1 NOT NULL,
	"last_entry" integer DEFAULT 0 NOT NULL,
	"last_account" integer DEFAULT 0 NOT NULL,
	"last_tariff" integer DEFAULT 0 NOT NULL,
	"last_request" integer DEFAULT 0 NOT NULL,
	"closed_through" text,
	CONSTRAINT "fee_books_is_one" CHECK ("fee_books"."id" = 1)
);
--> statement-breakpoint
CREATE TABLE "fee_closings" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "fee_closings_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"period" text NOT NULL,
	"act" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"note_id" bigint,
	"totals" jsonb NOT NULL
);
--> statement-breakpoint
CREATE TABLE "fee_entries" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "fee_entries_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"kind" text NOT NULL,
	"period" text NOT NULL,
	"day" date NOT NULL,
	"happened_at" timestamptz(3) NOT NULL,
	"recorded_at" timestamptz(3) NOT NULL,
	"by" bigint NOT NULL,
	"token_id" bigint,
	"account_id" bigint NOT NULL,
	"amount_minor" bigint NOT NULL,
	"net_minor" bigint NOT NULL,
	"tax_minor" bigint NOT NULL,
	"voids" bigint,
	"about" bigint,
	"piece_id" bigint,
	"load" integer,
	"kiln_id" bigint,
	"firing_kind" text,
	"cone" text,
	"tariff_id" bigint,
	"line" text,
	"cm3" bigint,
	"note_id" bigint,
	"v" smallint NOT NULL,
	"payload" jsonb NOT NULL,
	CONSTRAINT "fee_entries_in_period" UNIQUE("id","period"),
	CONSTRAINT "fee_entries_period" CHECK ("fee_entries"."period" ~ '^[0-9]{4}-(0[1-9]|1[0-2])$'),
	CONSTRAINT "fee_entries_sum" CHECK ("fee_entries"."amount_minor" = "fee_entries"."net_minor" + "fee_entries"."tax_minor" and abs("fee_entries"."amount_minor") <= 1000000000000)
);
--> statement-breakpoint
CREATE TABLE "fee_litres" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "fee_litres_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"account_id" bigint NOT NULL,
	"source" text NOT NULL,
	"grant_id" bigint,
	"cm3" bigint NOT NULL,
	"period" text NOT NULL,
	"entry_id" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "fee_notes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "fee_notes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"text" text NOT NULL
);
--> statement-breakpoint
CREATE TABLE "fee_postings" (
	"entry_id" bigint NOT NULL,
	"position" smallint NOT NULL,
	"account_id" bigint NOT NULL,
	"period" text NOT NULL,
	"amount_minor" bigint NOT NULL,
	CONSTRAINT "fee_postings_entry_id_position_pk" PRIMARY KEY("entry_id","position")
);
--> statement-breakpoint
CREATE TABLE "fee_quotes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "fee_quotes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"piece_id" bigint NOT NULL,
	"tariff_id" bigint NOT NULL,
	"amount_minor" bigint NOT NULL,
	"payload" jsonb NOT NULL,
	"at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "fee_requests" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "fee_requests_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"kind" text NOT NULL,
	"account_id" bigint NOT NULL,
	"amount_minor" bigint NOT NULL,
	"note_id" bigint NOT NULL,
	"piece_id" bigint,
	"load" integer,
	"about" bigint,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"decision" text,
	"decided_by" bigint,
	"decided_at" timestamptz(3),
	"entry_id" bigint,
	"payload" jsonb NOT NULL,
	CONSTRAINT "fee_requests_decided" CHECK (("fee_requests"."decision" is null) = ("fee_requests"."decided_by" is null))
);
--> statement-breakpoint
CREATE TABLE "fee_settings" (
	"id" smallint PRIMARY KEY DEFAULT 1 NOT NULL,
	"value" jsonb NOT NULL,
	CONSTRAINT "fee_settings_is_one" CHECK ("fee_settings"."id" = 1)
);
--> statement-breakpoint
CREATE TABLE "standing_charges" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "standing_charges_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"account_id" bigint NOT NULL,
	"item" text NOT NULL,
	"from_period" text NOT NULL,
	"until_period" text,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL
);
--> statement-breakpoint
CREATE TABLE "tariffs" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "tariffs_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"number" integer NOT NULL,
	"name" text NOT NULL,
	"valid_from" date NOT NULL,
	"valid_until" date,
	"value" jsonb NOT NULL,
	"based_on" integer,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"changed_at" timestamptz(3) NOT NULL,
	"in_force_at" timestamptz(3),
	"in_force_by" bigint
);
--> statement-breakpoint
ALTER TABLE "fee_accounts" ADD CONSTRAINT "fee_accounts_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_accounts" ADD CONSTRAINT "fee_accounts_group_id_groups_id_fk" FOREIGN KEY ("group_id") REFERENCES "public"."groups"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_closings" ADD CONSTRAINT "fee_closings_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_closings" ADD CONSTRAINT "fee_closings_note_id_fee_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."fee_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_entries" ADD CONSTRAINT "fee_entries_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_entries" ADD CONSTRAINT "fee_entries_token_id_tokens_id_fk" FOREIGN KEY ("token_id") REFERENCES "public"."tokens"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_entries" ADD CONSTRAINT "fee_entries_account_id_fee_accounts_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."fee_accounts"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_entries" ADD CONSTRAINT "fee_entries_voids_fee_entries_id_fk" FOREIGN KEY ("voids") REFERENCES "public"."fee_entries"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_entries" ADD CONSTRAINT "fee_entries_about_fee_entries_id_fk" FOREIGN KEY ("about") REFERENCES "public"."fee_entries"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_entries" ADD CONSTRAINT "fee_entries_piece_id_pieces_id_fk" FOREIGN KEY ("piece_id") REFERENCES "public"."pieces"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_entries" ADD CONSTRAINT "fee_entries_kiln_id_kilns_id_fk" FOREIGN KEY ("kiln_id") REFERENCES "public"."kilns"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_entries" ADD CONSTRAINT "fee_entries_tariff_id_tariffs_id_fk" FOREIGN KEY ("tariff_id") REFERENCES "public"."tariffs"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_entries" ADD CONSTRAINT "fee_entries_note_id_fee_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."fee_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_litres" ADD CONSTRAINT "fee_litres_account_id_fee_accounts_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."fee_accounts"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_litres" ADD CONSTRAINT "fee_litres_grant_id_fee_litres_id_fk" FOREIGN KEY ("grant_id") REFERENCES "public"."fee_litres"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_litres" ADD CONSTRAINT "fee_litres_entry_id_fee_entries_id_fk" FOREIGN KEY ("entry_id") REFERENCES "public"."fee_entries"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_postings" ADD CONSTRAINT "fee_postings_account_id_fee_accounts_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."fee_accounts"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_postings" ADD CONSTRAINT "fee_postings_entry" FOREIGN KEY ("entry_id","period") REFERENCES "public"."fee_entries"("id","period") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_quotes" ADD CONSTRAINT "fee_quotes_piece_id_pieces_id_fk" FOREIGN KEY ("piece_id") REFERENCES "public"."pieces"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_quotes" ADD CONSTRAINT "fee_quotes_tariff_id_tariffs_id_fk" FOREIGN KEY ("tariff_id") REFERENCES "public"."tariffs"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_requests" ADD CONSTRAINT "fee_requests_account_id_fee_accounts_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."fee_accounts"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_requests" ADD CONSTRAINT "fee_requests_note_id_fee_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."fee_notes"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_requests" ADD CONSTRAINT "fee_requests_piece_id_pieces_id_fk" FOREIGN KEY ("piece_id") REFERENCES "public"."pieces"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_requests" ADD CONSTRAINT "fee_requests_about_fee_entries_id_fk" FOREIGN KEY ("about") REFERENCES "public"."fee_entries"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_requests" ADD CONSTRAINT "fee_requests_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_requests" ADD CONSTRAINT "fee_requests_decided_by_people_id_fk" FOREIGN KEY ("decided_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "fee_requests" ADD CONSTRAINT "fee_requests_entry_id_fee_entries_id_fk" FOREIGN KEY ("entry_id") REFERENCES "public"."fee_entries"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "standing_charges" ADD CONSTRAINT "standing_charges_account_id_fee_accounts_id_fk" FOREIGN KEY ("account_id") REFERENCES "public"."fee_accounts"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "standing_charges" ADD CONSTRAINT "standing_charges_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "tariffs" ADD CONSTRAINT "tariffs_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "tariffs" ADD CONSTRAINT "tariffs_in_force_by_people_id_fk" FOREIGN KEY ("in_force_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE UNIQUE INDEX "fee_accounts_number" ON "fee_accounts" USING btree ("number");--> statement-breakpoint
CREATE UNIQUE INDEX "fee_accounts_key" ON "fee_accounts" USING btree ("kind","key");--> statement-breakpoint
CREATE UNIQUE INDEX "fee_accounts_person" ON "fee_accounts" USING btree ("person_id");--> statement-breakpoint
CREATE UNIQUE INDEX "fee_accounts_group" ON "fee_accounts" USING btree ("group_id");--> statement-breakpoint
CREATE INDEX "fee_closings_period" ON "fee_closings" USING btree ("period");--> statement-breakpoint
CREATE UNIQUE INDEX "fee_entries_number" ON "fee_entries" USING btree ("number");--> statement-breakpoint
CREATE UNIQUE INDEX "fee_entries_voided_once" ON "fee_entries" USING btree ("voids") WHERE "fee_entries"."voids" is not null;--> statement-breakpoint
CREATE UNIQUE INDEX "fee_entries_charged_once" ON "fee_entries" USING btree ("piece_id","load") WHERE "fee_entries"."kind" = 'firing';--> statement-breakpoint
CREATE UNIQUE INDEX "fee_entries_dues_once" ON "fee_entries" USING btree ("account_id","line","period") WHERE "fee_entries"."kind" = 'dues';--> statement-breakpoint
CREATE INDEX "fee_entries_account" ON "fee_entries" USING btree ("account_id","number");--> statement-breakpoint
CREATE INDEX "fee_entries_period" ON "fee_entries" USING btree ("period","number");--> statement-breakpoint
CREATE INDEX "fee_entries_day" ON "fee_entries" USING btree ("day","number");--> statement-breakpoint
CREATE INDEX "fee_entries_load" ON "fee_entries" USING btree ("load");--> statement-breakpoint
CREATE INDEX "fee_entries_piece" ON "fee_entries" USING btree ("piece_id");--> statement-breakpoint
CREATE INDEX "fee_entries_about" ON "fee_entries" USING btree ("about");--> statement-breakpoint
CREATE INDEX "fee_litres_account" ON "fee_litres" USING btree ("account_id","source");--> statement-breakpoint
CREATE INDEX "fee_litres_entry" ON "fee_litres" USING btree ("entry_id");--> statement-breakpoint
CREATE INDEX "fee_postings_account" ON "fee_postings" USING btree ("account_id","period");--> statement-breakpoint
CREATE INDEX "fee_quotes_piece" ON "fee_quotes" USING btree ("piece_id","id");--> statement-breakpoint
CREATE UNIQUE INDEX "fee_requests_number" ON "fee_requests" USING btree ("number");--> statement-breakpoint
CREATE INDEX "fee_requests_open" ON "fee_requests" USING btree ("decision","id");--> statement-breakpoint
CREATE INDEX "standing_charges_account" ON "standing_charges" USING btree ("account_id");--> statement-breakpoint
CREATE UNIQUE INDEX "tariffs_number" ON "tariffs" USING btree ("number");--> statement-breakpoint
CREATE INDEX "tariffs_valid" ON "tariffs" USING btree ("valid_from");