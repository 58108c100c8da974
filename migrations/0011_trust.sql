CREATE TABLE "changes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "changes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"xid" "xid8" DEFAULT pg_current_xact_id() NOT NULL,
	"at" timestamptz(3) DEFAULT now() NOT NULL,
	"what" text NOT NULL,
	"subject_id" bigint NOT NULL
);
--> statement-breakpoint
CREATE TABLE "hook_calls" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "hook_calls_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"hook_id" bigint NOT NULL,
	"what" text NOT NULL,
	"subject" text NOT NULL,
	"changed_at" timestamptz(3) NOT NULL,
	"due_at" timestamptz(3) NOT NULL,
	"tries" integer DEFAULT 0 NOT NULL,
	"status" smallint,
	"last_error" text,
	"done_at" timestamptz(3),
	"given_up_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "hooks" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "hooks_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"name" text NOT NULL,
	"url" text NOT NULL,
	"secret" text NOT NULL,
	"whats" text[] NOT NULL,
	"made_by" bigint NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"seen_to" "xid8" NOT NULL,
	"failures" integer DEFAULT 0 NOT NULL,
	"paused_at" timestamptz(3),
	"paused_why" text,
	"ended_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "mails" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "mails_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"person_id" bigint NOT NULL,
	"kind" text NOT NULL,
	"subject" text NOT NULL,
	"body" text NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"due_at" timestamptz(3) NOT NULL,
	"tries" integer DEFAULT 0 NOT NULL,
	"last_error" text,
	"sent_to" text,
	"sent_at" timestamptz(3),
	"given_up_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "reminders" (
	"person_id" bigint NOT NULL,
	"key" text NOT NULL,
	"at" timestamptz(3) NOT NULL,
	CONSTRAINT "reminders_person_id_key_pk" PRIMARY KEY("person_id","key")
);
--> statement-breakpoint
CREATE TABLE "told_choices" (
	"person_id" bigint NOT NULL,
	"kind" text NOT NULL,
	"way" text NOT NULL,
	CONSTRAINT "told_choices_person_id_kind_pk" PRIMARY KEY("person_id","kind"),
	CONSTRAINT "told_choices_way" CHECK ("told_choices"."way" in ('inbox', 'mail', 'none'))
);
--> statement-breakpoint
CREATE TABLE "recovery_codes" (
	"id" bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY (sequence name "recovery_codes_id_seq" INCREMENT BY 1 MINVALUE 1 MAXVALUE 9223372036854775807 START WITH 1 CACHE 1),
	"person_id" bigint NOT NULL,
	"hash" text NOT NULL,
	"used_at" timestamptz(3)
);
--> statement-breakpoint
CREATE TABLE "second_factors" (
	"person_id" bigint PRIMARY KEY NOT NULL,
	"secret" text NOT NULL,
	"made_at" timestamptz(3) NOT NULL,
	"confirmed_at" timestamptz(3),
	"last_step" bigint DEFAULT 0 NOT NULL
);
--> statement-breakpoint
CREATE TABLE "sign_in_steps" (
	"hash" text PRIMARY KEY NOT NULL,
	"person_id" bigint NOT NULL,
	"expires_at" timestamptz(3) NOT NULL,
	"tries" smallint DEFAULT 0 NOT NULL
);
--> statement-breakpoint
ALTER TABLE "people" ADD COLUMN "quiet_from" smallint;--> statement-breakpoint
ALTER TABLE "people" ADD COLUMN "quiet_until" smallint;--> statement-breakpoint
ALTER TABLE "studio" ADD COLUMN "staff_second_factor" boolean DEFAULT false NOT NULL;--> statement-breakpoint
ALTER TABLE "hook_calls" ADD CONSTRAINT "hook_calls_hook_id_hooks_id_fk" FOREIGN KEY ("hook_id") REFERENCES "public"."hooks"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "hooks" ADD CONSTRAINT "hooks_made_by_people_id_fk" FOREIGN KEY ("made_by") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "mails" ADD CONSTRAINT "mails_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "reminders" ADD CONSTRAINT "reminders_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "told_choices" ADD CONSTRAINT "told_choices_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "recovery_codes" ADD CONSTRAINT "recovery_codes_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "second_factors" ADD CONSTRAINT "second_factors_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "sign_in_steps" ADD CONSTRAINT "sign_in_steps_person_id_people_id_fk" FOREIGN KEY ("person_id") REFERENCES "public"."people"("id") ON DELETE no action ON UPDATE no action;--> statement-breakpoint
CREATE INDEX "changes_xid" ON "changes" USING btree ("xid");--> statement-breakpoint
CREATE INDEX "changes_at" ON "changes" USING btree ("at");--> statement-breakpoint
CREATE INDEX "hook_calls_waiting" ON "hook_calls" USING btree ("due_at") WHERE "hook_calls"."done_at" is null and "hook_calls"."given_up_at" is null;--> statement-breakpoint
CREATE INDEX "hook_calls_hook" ON "hook_calls" USING btree ("hook_id","id");--> statement-breakpoint
CREATE INDEX "mails_waiting" ON "mails" USING btree ("due_at") WHERE "mails"."sent_at" is null and "mails"."given_up_at" is null;--> statement-breakpoint
CREATE INDEX "mails_person" ON "mails" USING btree ("person_id","id");--> statement-breakpoint
CREATE INDEX "reminders_age" ON "reminders" USING btree ("at");--> statement-breakpoint
CREATE UNIQUE INDEX "recovery_codes_hash" ON "recovery_codes" USING btree ("person_id","hash");--> statement-breakpoint
CREATE INDEX "sign_in_steps_person" ON "sign_in_steps" USING btree ("person_id");--> statement-breakpoint
ALTER TABLE "people" ADD CONSTRAINT "people_quiet" CHECK (("people"."quiet_from" is null) = ("people"."quiet_until" is null)
        and "people"."quiet_from" between 0 and 1439 and "people"."quiet_until" between 0 and 1439);