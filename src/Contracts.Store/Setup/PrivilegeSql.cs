namespace Contracts.Store.Setup;

/// <summary>The statements behind <see cref="Privileges"/>. Each may be run again and then changes nothing.</summary>
internal static class PrivilegeSql
{
    /// <summary>
    /// Roles belong to the whole server, and no lock of one database keeps another database's set-up out: whoever comes second
    /// finds the role there, or waits for it on the index of names.
    /// </summary>
    public const string Roles = """
        do $$
        declare
            wanted text;
        begin
            foreach wanted in array array['contracts_owner', 'contracts_app', 'contracts_sealer', 'contracts_read', 'contracts_pii'] loop
                begin
                    if not exists (select from pg_roles where rolname = wanted) then
                        execute format('create role %I %s nosuperuser nocreatedb nocreaterole noreplication nobypassrls',
                            wanted, case wanted when 'contracts_owner' then 'nologin' else 'login' end);
                    end if;
                exception
                    -- Another database of this server does the same at this moment.
                    when duplicate_object or unique_violation then null;
                end;
                begin
                    if exists (select from pg_roles where rolname = wanted
                        and (rolsuper or rolcreatedb or rolcreaterole or rolreplication or rolbypassrls)) then
                        execute format('alter role %I nosuperuser nocreatedb nocreaterole noreplication nobypassrls', wanted);
                    end if;
                    if not exists (select from pg_db_role_setting s join pg_roles r on r.oid = s.setrole
                        where r.rolname = wanted and s.setdatabase = 0 and 'TimeZone=UTC' = any (s.setconfig)) then
                        execute format('alter role %I set timezone = ''UTC''', wanted);
                    end if;
                exception
                    -- The same here ("tuple concurrently updated" is an internal error). And whoever may not change a role that an
                    -- administrator made leaves it: sessions ask for UTC themselves, and an app role that can do too much is refused.
                    when unique_violation or internal_error or insufficient_privilege then null;
                end;
            end loop;
        end $$;
        """;

    /// <summary>Hands the owner what lies in the store's schemas. Needs a superuser, or somebody who may become the owner.</summary>
    public const string Ownership = """
        do $$
        declare
            becomes text := case when current_setting('server_version_num')::int >= 160000 then 'SET' else 'MEMBER' end;
            statement text;
        begin
            if not pg_has_role(current_user, 'contracts_owner', becomes) then
                execute format('grant contracts_owner to %I', current_user);
            end if;
            for statement in
                with ours as (
                    select n.oid, n.nspname, n.nspowner, o.oid as owner
                    from pg_namespace n, pg_roles o
                    where n.nspname in ('contracts', 'audit', 'vault', 'access', 'messages') and o.rolname = 'contracts_owner')
                select s.text from (
                    select 1, format('alter schema %I owner to contracts_owner', nspname) from ours where nspowner <> owner
                    union all
                    -- A sequence that belongs to a column goes with its table.
                    select 2, format('alter %s %I.%I owner to contracts_owner',
                        case c.relkind when 'v' then 'view' when 'm' then 'materialized view' when 'S' then 'sequence' else 'table' end, nspname, relname)
                    from ours join pg_class c on c.relnamespace = ours.oid
                    where c.relkind in ('r', 'p', 'v', 'm', 'S') and c.relowner <> owner
                      and not exists (select from pg_depend d where d.classid = 'pg_class'::regclass and d.objid = c.oid and d.deptype in ('a', 'i')
                          and d.refclassid = 'pg_class'::regclass and d.refobjsubid > 0 and c.relkind = 'S')
                    union all
                    select 3, format('alter routine %s owner to contracts_owner', p.oid::regprocedure)
                    from ours join pg_proc p on p.pronamespace = ours.oid where p.proowner <> owner
                ) as s (step, text) order by step
            loop
                execute statement;
            end loop;
        end $$;
        """;

    /// <summary>Who may do what. First everything is taken away, so that what is not written here is not given.</summary>
    public const string Grants = """
        revoke all on schema contracts, audit, vault from public, contracts_app, contracts_sealer, contracts_read, contracts_pii;
        revoke all on all tables in schema contracts, audit, vault from public, contracts_app, contracts_sealer, contracts_read, contracts_pii;
        revoke all on all sequences in schema contracts, audit, vault from public, contracts_app, contracts_sealer, contracts_read, contracts_pii;

        grant usage on schema contracts, audit to contracts_app, contracts_sealer, contracts_read;
        grant usage on schema vault to contracts_pii;
        grant select on all tables in schema contracts, audit to contracts_app, contracts_read;

        -- History is added to.
        grant insert on contracts.mt_events, contracts.mt_streams, contracts.command_keys, contracts.posting_sets, contracts.periods,
            contracts.zone_data to contracts_app;
        -- Of a stream only how long it is; archiving it would be a change of another column.
        grant update (version, timestamp) on contracts.mt_streams to contracts_app;
        grant usage, select, update on sequence contracts.mt_events_sequence to contracts_app;
        grant update (last, simulated, revision) on contracts.clock to contracts_app;
        -- What can be built again from history.
        grant insert, delete on contracts.placements to contracts_app;
        grant insert, update (cents), delete on contracts.book_cells, contracts.book_months to contracts_app;

        grant select on contracts.mt_events, contracts.mt_streams, contracts.periods, contracts.schema_version to contracts_sealer;
        grant select, insert on all tables in schema audit to contracts_sealer;
        grant usage, select on all sequences in schema audit to contracts_sealer;

        -- Erasing a household deletes; nothing in the vault is ever changed.
        grant select, insert, delete on all tables in schema vault to contracts_pii;
        grant usage, select on all sequences in schema vault to contracts_pii;
        do $$
        begin
            -- What was written with a bank's line that waits may name people: it goes when the line is decided on, and reports do not read it.
            if to_regclass('contracts.waiting_texts') is not null then
                revoke all on contracts.waiting_texts from contracts_read;
                grant insert, delete on contracts.waiting_texts to contracts_app;
            end if;
            -- The list of who read is added to.
            if to_regclass('vault.readings') is not null then revoke delete on vault.readings from contracts_pii; end if;
            -- Keys, people and readings are added to; that one has ended is a row as well. Who reads for reports sees who read, and no key or hash.
            if to_regnamespace('access') is not null then
                revoke all on schema access from public, contracts_app, contracts_sealer, contracts_read, contracts_pii;
                revoke all on all tables in schema access from public, contracts_app, contracts_sealer, contracts_read, contracts_pii;
                revoke all on all sequences in schema access from public, contracts_app, contracts_sealer, contracts_read, contracts_pii;
                grant usage on schema access to contracts_app, contracts_read;
                grant select, insert on all tables in schema access to contracts_app;
                grant select on access.readings to contracts_read;
                -- How far a webhook was told and how far a job has come is all here that is changed.
                if to_regclass('access.webhook_states') is not null then
                    grant update (position, turn, attempts, next_at, last_error, last_error_at, delivered_at, paused_because) on access.webhook_states to contracts_app;
                end if;
                if to_regclass('access.job_runs') is not null then
                    grant update (began_at, ended_at, attempts, done, total, outcome, fault) on access.job_runs to contracts_app;
                end if;
            end if;
            if to_regnamespace('messages') is not null then
                revoke all on schema messages from public;
                grant usage on schema messages to contracts_app;
                grant select, insert, update, delete on all tables in schema messages to contracts_app;
                grant usage, select, update on all sequences in schema messages to contracts_app;
            end if;
        end $$;
        """;

    /// <summary>The same for tables that come later, whoever of the two makes them.</summary>
    public const string Defaults = """
        do $$
        declare
            maker text;
        begin
            foreach maker in array array['contracts_owner', current_user] loop
                execute format('alter default privileges for role %I in schema contracts grant select on tables to contracts_app, contracts_read', maker);
                execute format('alter default privileges for role %I in schema audit grant select on tables to contracts_app, contracts_read', maker);
                execute format('alter default privileges for role %I in schema audit grant select, insert on tables to contracts_sealer', maker);
                execute format('alter default privileges for role %I in schema audit grant usage, select on sequences to contracts_sealer', maker);
                execute format('alter default privileges for role %I in schema vault grant select, insert, delete on tables to contracts_pii', maker);
                execute format('alter default privileges for role %I in schema vault grant usage, select on sequences to contracts_pii', maker);
            end loop;
        end $$;
        """;

    /// <summary>What PostgreSQL gives everybody in a database: only where the whole database is the store's.</summary>
    public const string Alone = """
        do $$
        begin
            execute format('revoke create, temporary on database %I from public', current_database());
            execute format('grant connect on database %I to contracts_app, contracts_sealer, contracts_read, contracts_pii', current_database());
            revoke create on schema public from public;
        exception when invalid_schema_name then null; -- There is no schema public here.
        end $$;
        """;
}
