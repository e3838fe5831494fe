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

    public static DocumentStore Build(NpgsqlDataSource source) => DocumentStore.For(options =>
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
}
