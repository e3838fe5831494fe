using Contracts.Host.Tests.Seals;
using Contracts.Host.Tests.Support;
using Contracts.Store.Dossiers;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Dossiers;

/// <summary>One sealed shop and a dossier of a contract in it, made once; the tests only read its bytes.</summary>
public sealed class DossierFixture(Server server) : IAsyncLifetime
{
    private SealedShop? shop;

    public byte[] Bytes { get; private set; } = [];

    internal SealedShop Shop => shop!;

    internal static DossierRequest Request(string contract = "C-1", string by = "ada") => new(
        contract, new LocalDate(2026, 12, 31), Instant.FromUtc(2027, 1, 1, 0, 0), Instant.FromUtc(2027, 1, 2, 0, 0), by, "a dispute (invented)");

    public async ValueTask InitializeAsync()
    {
        shop = await SealedShop.OpenAsync(server, simulated: true);
        await shop.LiveAsync(contracts: 3, payments: 8);
        await shop.Store.ApplyAsync("""{"do":"move","key":"move","at":"2026-12-01T12:00:00Z","by":"ada","contract":"C-1","on":"2026-12-01","state":"NY","jurisdiction":"J"}""");
        await shop.SealCleanlyAsync(anchor: true);
        Bytes = await shop.Store.Dossiers.MakeAsync(Request());
    }

    public async ValueTask DisposeAsync()
    {
        if (shop is not null) { await shop.DisposeAsync(); }
    }

    /// <summary>The files, to be changed.</summary>
    internal SortedDictionary<string, byte[]> Files() => DossierZip.Read(Bytes).Files!;

    /// <summary>Packs files as somebody would who wants a change to go unseen: with manifests that fit.</summary>
    internal static byte[] Pack(SortedDictionary<string, byte[]> files)
    {
        foreach (var tag in files.Keys.Where(name => !name.StartsWith("data/", StringComparison.Ordinal)).ToList()) { files.Remove(tag); }
        DossierFiles.Bag(files);
        return DossierZip.Write(files);
    }

    /// <summary>The lines of a file.</summary>
    internal static List<string> Lines(byte[] bytes) => [.. System.Text.Encoding.UTF8.GetString(bytes).Split('\n')[..^1]];

    internal static byte[] Joined(IEnumerable<string> lines) => System.Text.Encoding.UTF8.GetBytes(string.Concat(lines.Select(line => line + "\n")));
}
