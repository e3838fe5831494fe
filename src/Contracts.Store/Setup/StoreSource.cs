using Npgsql;

namespace Contracts.Store.Setup;

/// <summary>The data source of a store: its session settings, and the types of Noda Time.</summary>
internal static class StoreSource
{
    public static NpgsqlDataSource Connect(string connectionString)
    {
        var text = new NpgsqlConnectionStringBuilder(connectionString) { Timezone = "UTC", ApplicationName = "contracts" };
        // A read of the whole portfolio is hundreds of megabytes; eight kilobytes at a time is mostly waking up.
        text.ReadBufferSize = Math.Max(text.ReadBufferSize, 1 << 17);
        if (text.MaxAutoPrepare == 0) { text.MaxAutoPrepare = 64; }

        // Compiling a query costs more here than it ever saves.
        if (string.IsNullOrEmpty(text.Options)) { text.Options = "-c jit=off"; }
        var builder = new NpgsqlDataSourceBuilder(text.ConnectionString);
        builder.UseNodaTime();
        return builder.Build();
    }
}
