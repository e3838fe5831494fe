using Contracts.Store.Bank;
using Contracts.Store.Books;
using Contracts.Store.Callers;
using Contracts.Store.Dossiers;
using Contracts.Store.Fleet;
using Contracts.Store.Jobs;
using Contracts.Store.Papers;
using Contracts.Store.Proposals;
using Contracts.Store.Quotes;
using Contracts.Store.Seals;
using Contracts.Store.Setup;
using Contracts.Store.TakeOver;
using Contracts.Store.Vault;
using Contracts.Store.Webhooks;
using Marten;
using Npgsql;

namespace Contracts.Store;

/// <summary>An open store: commands go in through the pipeline, histories come out through the reader.</summary>
public sealed class ContractsStore : IAsyncDisposable
{
    private readonly NpgsqlDataSource source;
    private readonly NpgsqlDataSource vault;
    private readonly NpgsqlDataSource sealing;
    private readonly Lazy<DocumentStore> marten;

    private ContractsStore(Opened opened, Lazy<DocumentStore> marten, StoreSettings settings, Decider? decider)
    {
        source = opened.Source;
        this.marten = marten;
        (Connection, IsGuarded, Warning) = (opened.Connection, opened.Guarded, opened.Warning);
        Settings = settings;
        Reader = new StoreReader(source);
        Books = new BooksReader(source);
        Quotes = new QuoteBook(source);
        Proposals = new ProposalBook(source);
        Units = new UnitBook(source, Reader);
        Placements = new Placements(source, Reader, settings.Zone);
        // Everyday work can neither read the vault nor write a seal: those have roles of their own.
        vault = opened.Guarded ? StoreSource.Connect(PersonalOf(opened.Connection)) : source;
        sealing = opened.Guarded ? StoreSource.Connect(SealerOf(opened.Connection)) : source;
        Households = new HouseholdVault(source, vault, settings.Keys);
        VaultAudit = new VaultAudit(source, vault, settings.Keys);
        Pipeline = new CommandPipeline(source, marten, settings, decider, Households);
        Bank = new BankBook(source, Reader, settings);
        BankIntake = new BankIntake(Pipeline);
        BookIntake = new BookIntake(Pipeline);
        BookAudit = new BookAudit(source, Reader, Books);
        Papers = new PaperArchive(source, Reader, settings);
        MonthClose = new MonthClose(source, Pipeline, Reader, Books);
        Seals = new SealReader(source);
        SealAudit = new SealAudit(source);
        Stamps = new StampBook(source, sealing, Seals);
        Dossiers = new DossierMaker(Seals, Stamps, Papers);
        Finder = new Finder(source);
        Keys = new KeyRing(source);
        Readings = new ReadLog(source);
        People = new People(source);
        Attempts = new Attempts(source);
        Sessions = new Sessions(source);
        Webhooks = new WebhookBook(source);
        Jobs = new JobBook(source);
        Outbox = new WebhookOutbox(source);
    }

    public StoreSettings Settings { get; }

    public CommandPipeline Pipeline { get; }

    public StoreReader Reader { get; }

    public BooksReader Books { get; }

    public QuoteBook Quotes { get; }

    /// <summary>What was proposed, and what became of it.</summary>
    public ProposalBook Proposals { get; }

    /// <summary>Where units are, what they earned, and the fleet as a whole.</summary>
    public UnitBook Units { get; }

    /// <summary>Money files and the lines in them.</summary>
    public BankBook Bank { get; }

    /// <summary>Takes money files in.</summary>
    public BankIntake BankIntake { get; }

    /// <summary>Takes over the book that a shop kept before.</summary>
    public BookIntake BookIntake { get; }

    public HouseholdVault Households { get; }

    public VaultAudit VaultAudit { get; }

    public BookAudit BookAudit { get; }

    public MonthClose MonthClose { get; }

    public PaperArchive Papers { get; }

    public Placements Placements { get; }

    /// <summary>What is sealed, and proofs of it.</summary>
    public SealReader Seals { get; }

    public DossierMaker Dossiers { get; }

    /// <summary>Holds what is stored against what is sealed.</summary>
    public SealAudit SealAudit { get; }

    /// <summary>Time stamps by others over signed heads.</summary>
    public StampBook Stamps { get; }

    public Finder Finder { get; }

    /// <summary>The keys that programs call with.</summary>
    public KeyRing Keys { get; }

    /// <summary>Who read what over HTTP.</summary>
    public ReadLog Readings { get; }

    /// <summary>The people who sign in.</summary>
    public People People { get; }

    /// <summary>Their attempts to sign in, good and bad.</summary>
    public Attempts Attempts { get; }

    /// <summary>Which of their sessions were ended.</summary>
    public Sessions Sessions { get; }

    /// <summary>Who is told each event over HTTP.</summary>
    public WebhookBook Webhooks { get; }

    /// <summary>What they are still to be told.</summary>
    public WebhookOutbox Outbox { get; }

    /// <summary>The runs of the day's jobs.</summary>
    public JobBook Jobs { get; }

    /// <summary>What seals this store; without a signer the log grows unsigned.</summary>
    public Sealer SealerWith(ISigner? signer) => new(sealing, Reader, Settings.Zone, signer);

    /// <summary>The same for a run of many anchors, which remembers the heads of the streams between them.</summary>
    public Sealer SealerWith(ISigner? signer, HeadMemory? memory) => new(sealing, Reader, Settings.Zone, signer, null, memory);

    /// <summary>The same, stopped between its steps by a test.</summary>
    internal Sealer SealerWith(ISigner? signer, Action<SealStep> step) => new(sealing, Reader, Settings.Zone, signer, step);

    /// <summary>Marten over the same events. Append through the pipeline only: it keeps the clock and the keys.</summary>
    public IDocumentStore Marten => marten.Value;

    /// <summary>The ways in that are in use.</summary>
    public StoreConnection Connection { get; }

    /// <summary>Whether the login in use can add history and not change it.</summary>
    public bool IsGuarded { get; }

    /// <summary>What the person at work should be told about the login in use, or null.</summary>
    public string? Warning { get; }

    /// <summary>Opens a store and makes its tables on the first start.</summary>
    public static Task<ContractsStore> OpenAsync(
        string connectionString, StoreSettings settings, CancellationToken stop = default) =>
        OpenAsync(new StoreConnection(connectionString), settings, null, stop);

    /// <summary>The same with a login of its own for setting up.</summary>
    public static Task<ContractsStore> OpenAsync(StoreConnection connection, StoreSettings settings, CancellationToken stop = default) =>
        OpenAsync(connection, settings, null, stop);

    /// <summary>The same with other rules in place of the contract's own, for tests of the machinery.</summary>
    public static async Task<ContractsStore> OpenAsync(
        StoreConnection connection, StoreSettings settings, Decider? decider, CancellationToken stop = default)
    {
        try
        {
            var opened = await StoreOpening.OpenAsync(connection, stop).ConfigureAwait(false);

            // Building Marten takes half a second, and whoever only reads never needs it.
            return new ContractsStore(opened, new Lazy<DocumentStore>(() => MartenSetup.Build(opened.Source)), settings, decider);
        }
        catch (NpgsqlException broken)
        {
            throw new StoreException("The database cannot be opened.", broken);
        }
    }

    public async ValueTask DisposeAsync()
    {
        Pipeline.Dispose();
        if (marten.IsValueCreated) { marten.Value.Dispose(); }
        await vault.DisposeAsync().ConfigureAwait(false);
        await sealing.DisposeAsync().ConfigureAwait(false);
        await source.DisposeAsync().ConfigureAwait(false);
    }

    /// <summary>The way into the vault that was given, else the one that a server has which asks the roles for no password.</summary>
    private static string PersonalOf(StoreConnection connection) => connection.Personal ?? As(connection, DatabaseRoles.Personal);

    /// <summary>The same for who seals.</summary>
    private static string SealerOf(StoreConnection connection) => connection.Sealer ?? As(connection, DatabaseRoles.Sealer);

    private static string As(StoreConnection connection, string role) =>
        new NpgsqlConnectionStringBuilder(connection.Everyday) { Username = role, Password = null }.ConnectionString;
}
