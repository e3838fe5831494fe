using System.Text;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Host.Papers;
using Contracts.Host.Tests.Seals;
using Contracts.Host.Tests.Support;
using Contracts.Seals;
using Contracts.Store;
using Contracts.Store.Dossiers;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Dossiers;

/// <summary>One sealed shop and a dossier of a contract in it, made once; the tests only read its bytes.</summary>
public sealed class DossierFixture(Server server) : IAsyncLifetime
{
    private readonly Lock signing = new();
    private SealedShop? shop;

    public byte[] Bytes { get; private set; } = [];

    internal SealedShop Shop => shop!;

    internal static DossierRequest Request(string contract = "C-1", string by = "ada") => new(
        contract, new LocalDate(2026, 12, 31), Instant.FromUtc(2027, 1, 1, 0, 0), Instant.FromUtc(2027, 1, 2, 0, 0), by, "a dispute (invented)");

    /// <summary>A signed head from before the dossier's, which somebody kept.</summary>
    public byte[] Kept { get; private set; } = [];

    public async ValueTask InitializeAsync()
    {
        shop = await SealedShop.OpenAsync(server, simulated: true, PaperPress.Print);
        await shop.LiveAsync(contracts: 3, payments: 8);
        await ApplyAsync(
            """{"do":"describe-household","key":"told","at":"2026-09-01T13:00:00Z","by":"ada","household":"H","facts":{"name":"Ines Varga-Canary (invented)","phone":"555 0100"}}""",
            """{"do":"issue","key":"paper","at":"2026-09-02T12:00:00Z","by":"ada","contract":"C-1","on":"2026-09-01","kind":"receipt","for":"C-pay-1"}""");
        Kept = Encoding.UTF8.GetBytes((await shop.SealCleanlyAsync()).Checkpoint!.Note);
        var close = new Command.Close(new YearMonth(2026, 9)) { Origin = new CommandOrigin("close:2026-09", null, null) };
        var closed = await shop.Store.MonthClose.CloseAsync(close, Chart.Standard, "Rental programme", Instant.FromUtc(2026, 10, 2, 12, 0));
        Assert.IsType<CommandResult.Applied>(closed.Outcome);
        await shop.SealCleanlyAsync();
        await ApplyAsync("""{"do":"move","key":"move","at":"2026-12-01T12:00:00Z","by":"ada","contract":"C-1","on":"2026-12-01","state":"NY","jurisdiction":"J"}""");
        await shop.SealCleanlyAsync(anchor: true);
        Bytes = await MakeAsync(Request());
    }

    internal Task<byte[]> MakeAsync(DossierRequest request, DossierExtras? extras = null) => shop!.Store.Dossiers.MakeAsync(request, shop.Signer, extras);

    private async Task ApplyAsync(params string[] lines) => Assert.All(await shop!.Store.ApplyAsync(lines), result => Assert.IsType<CommandResult.Applied>(result));

    public async ValueTask DisposeAsync()
    {
        if (shop is not null) { await shop.DisposeAsync(); }
    }

    /// <summary>The files, to be changed.</summary>
    internal SortedDictionary<string, byte[]> Files() => DossierZip.Read(Bytes).Files!;

    /// <summary>Packs files as somebody would who wants a change to go unseen: with manifests that fit.</summary>
    internal byte[] Pack(SortedDictionary<string, byte[]> files)
    {
        foreach (var tag in files.Keys.Where(name => !name.StartsWith("data/", StringComparison.Ordinal)).ToList()) { files.Remove(tag); }
        DossierFiles.Bag(files);
        SignAgain(files);
        return DossierZip.Write(files);
    }

    /// <summary>Signs the files as the holder of the key would, so that what is wrong inside has to be seen by itself.</summary>
    internal void SignAgain(SortedDictionary<string, byte[]> files)
    {
        var origin = Encoding.UTF8.GetString(Kept).Split('\n')[0];
        var text = DossierStatement.Text(origin, Digest.Of(files[DossierStatement.TagManifest]));
        lock (signing) { files[DossierStatement.Name] = Encoding.UTF8.GetBytes(shop!.Signer.SignStatementAsync(origin, text, CancellationToken.None).Result); }
    }

    /// <summary>The lines of a file.</summary>
    internal static List<string> Lines(byte[] bytes) => [.. Encoding.UTF8.GetString(bytes).Split('\n')[..^1]];

    internal static byte[] Joined(IEnumerable<string> lines) => Encoding.UTF8.GetBytes(string.Concat(lines.Select(line => line + "\n")));
}
