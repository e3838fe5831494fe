using Contracts.Store.Json;
using JasperFx;
using JasperFx.Events;
using Marten;
using Npgsql;
using Weasel.Core;

namespace Contracts.Store.Setup;

/// <summary>How Marten keeps the events: names, shape, and no help that hides a fault.</summary>
internal static class MartenSetup
{
    public const string Schema = "contracts";

    /// <summary>Marten on a data source.</summary>
    /// <param name="more">Options of a test that tries what is refused.</param>
    public static DocumentStore Build(NpgsqlDataSource source, Action<StoreOptions>? more = null) => DocumentStore.For(options =>
    {
        options.Connection(source);
        options.DatabaseSchemaName = Schema;
        options.AutoCreateSchemaObjects = AutoCreate.None;
        options.UseSystemTextJsonForSerialization(EventJson.MartenOptions(), EnumStorage.AsString, Casing.CamelCase);
        options.UpdateBatchSize = 4000;
        // A unit of work is repeated by the pipeline, under the store's own lock, or not at all.
        options.ConfigureWritePolly(_ => { });
        options.Events.DatabaseSchemaName = Schema;
        options.Events.StreamIdentity = StreamIdentity.AsString;
        // The quick modes leave the time to the application's clock or to the session's time zone.
        options.Events.AppendMode = EventAppendMode.Rich;
        options.Events.MetadataConfig.HeadersEnabled = true;
        foreach (var (name, type) in EventNames.All) { options.Events.MapEventType(type, name); }
        FailLoudly(options);
        more?.Invoke(options);
        RequireLoud(options);
    });

    /// <summary>A projection that skips what it cannot apply would leave money out in silence.</summary>
    private static void FailLoudly(StoreOptions options)
    {
        foreach (var errors in new[] { options.Projections.Errors, options.Projections.RebuildErrors })
        {
            errors.SkipApplyErrors = false;
            errors.SkipSerializationErrors = false;
            errors.SkipUnknownEvents = false;
        }
    }

    private static void RequireLoud(StoreOptions options)
    {
        var (running, rebuilding) = (options.Projections.Errors, options.Projections.RebuildErrors);
        string?[] skipped =
        [
            running.SkipApplyErrors ? "apply errors" : null, running.SkipSerializationErrors ? "serialization errors" : null,
            running.SkipUnknownEvents ? "unknown events" : null, rebuilding.SkipApplyErrors ? "apply errors of a rebuild" : null,
            rebuilding.SkipSerializationErrors ? "serialization errors of a rebuild" : null,
            rebuilding.SkipUnknownEvents ? "unknown events of a rebuild" : null,
        ];
        var named = string.Join(", ", skipped.Where(name => name is not null));
        if (named.Length > 0) { throw new StoreException($"Marten would skip {named}: an event left out in silence is money left out."); }
    }
}
