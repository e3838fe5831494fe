using Contracts.Store.Books;
using Contracts.Store.Papers;
using Contracts.Store.Quotes;
using Contracts.Store.Seals;
using Contracts.Store.Setup;
using Marten;
using Npgsql;

namespace Contracts.Store;

/// <summary>An open store: commands go in through the pipeline, histories come out through the reader.</summary>
public sealed class ContractsStore : IAsyncDisposable
{
    private readonly NpgsqlDataSource source;
    private readonly Lazy<DocumentStore> marten;

    private ContractsStore(NpgsqlDataSource source, Lazy<DocumentStore> marten, StoreSettings settings, Decider? decider)
    {
        this.source = source;
        this.marten = marten;
        Settings = settings;
        Reader = new StoreReader(source);
        Books = new BooksReader(source);
        Quotes = new QuoteBook(source);
        Placements = new Placements(source, Reader, settings.Zone);
        Pipeline = new CommandPipeline(source, marten, settings, decider);
        BookAudit = new BookAudit(source, Reader, Books);
        Papers = new PaperArchive(source, Reader, settings);
        MonthClose = new MonthClose(source, Pipeline, Reader, Books);
        Seals = new SealReader(source);
        SealAudit = new SealAudit(source);
    }

    public StoreSettings Settings { get; }

    public CommandPipeline Pipeline { get; }

    public StoreReader Reader { get; }

    public BooksReader Books { get; }

    public QuoteBook Quotes { get; }

    public BookAudit BookAudit { get; }

    public MonthClose MonthClose { get; }

    public PaperArchive Papers { get; }

    public Placements Placements { get; }

    /// <summary>What is sealed, and proofs of it.</summary>
    public SealReader Seals { get; }

    /// <summary>Holds what is stored against what is sealed.</summary>
    public SealAudit SealAudit { get; }

    /// <summary>What seals this store; without a signer the log grows unsigned.</summary>
    public Sealer SealerWith(ISigner? signer) => new(source, Reader, Settings.Zone, signer);

    /// <summary>The same, stopped between its steps by a test.</summary>
    internal Sealer SealerWith(ISigner? signer, Action<SealStep> step) => new(source, Reader, Settings.Zone, signer, step);

    /// <summary>Marten over the same events. Append through the pipeline only: it keeps the clock and the keys.</summary>
    public IDocumentStore Marten => marten.Value;

    /// <summary>Opens a store and makes its tables on the first start.</summary>
    public static Task<ContractsStore> OpenAsync(
        string connectionString, StoreSettings settings, CancellationToken stop = default) =>
        OpenAsync(connectionString, settings, null, stop);

    /// <summary>The same with other rules in place of the contract's own, for tests of the machinery.</summary>
    public static async Task<ContractsStore> OpenAsync(
        string connectionString, StoreSettings settings, Decider? decider, CancellationToken stop = default)
    {
        var source = Connect(connectionString);

        // Building Marten takes half a second, and whoever only reads never needs it.
        var marten = new Lazy<DocumentStore>(() => MartenSetup.Build(source));
        try
        {
            await StoreSchema.EnsureAsync(source, marten, stop).ConfigureAwait(false);
            return new ContractsStore(source, marten, settings, decider);
        }
        catch (Exception fault)
        {
            if (marten.IsValueCreated) { marten.Value.Dispose(); }
            await source.DisposeAsync().ConfigureAwait(false);
            if (fault is NpgsqlException broken) { throw new StoreException("The database cannot be opened.", broken); }
            throw;
        }
    }

    public async ValueTask DisposeAsync()
    {
        Pipeline.Dispose();
        if (marten.IsValueCreated) { marten.Value.Dispose(); }
        await source.DisposeAsync().ConfigureAwait(false);
    }

    private static NpgsqlDataSource Connect(string connectionString)
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
