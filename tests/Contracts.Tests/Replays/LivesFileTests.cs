using System.Globalization;
using System.Text;
using Contracts.Replays;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Tests.Replays;

/// <summary>Generated lives as a file that any build obeys without a database: what planted rule bugs are held against.</summary>
public sealed class LivesFileTests
{
    /// <summary>Writes the file that CONTRACTS_LIVES_FILE names, with CONTRACTS_LIVES lives; in an ordinary run a small one is only obeyed.</summary>
    [Fact]
    public void A_file_of_lives_is_obeyed_whole()
    {
        var path = Environment.GetEnvironmentVariable("CONTRACTS_LIVES_FILE");
        var lives = path is null ? 20 : int.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "200", CultureInfo.InvariantCulture);
        var lines = LivesFile.Merged([.. Enumerable.Range(1, lives).Select(number => LivesFile.Renamed(number, Life.Generate(number * 7919, steps: 25)))]).ToList();
        var shop = new MemoryShop(InMemoryShop.Zone);
        foreach (var line in lines) { Assert.Null(shop.Apply(Encoding.UTF8.GetBytes(line))); }
        Assert.Equal(lives, shop.Histories.Count);
        if (path is not null) { File.WriteAllLines(path, lines); }
    }
}
