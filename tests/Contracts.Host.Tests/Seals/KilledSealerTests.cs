using System.Globalization;
using Contracts.Host.Tests.Support;
using Contracts.Store.Seals;
using Xunit;

namespace Contracts.Host.Tests.Seals;

/// <summary>Sealer and signer are stopped between every two steps; the next run goes on, and nothing is sealed or signed twice.</summary>
public sealed class KilledSealerTests(Server server, ITestOutputHelper output)
{
    private static readonly SealStep[] Steps = Enum.GetValues<SealStep>();

    /// <summary>How often each step is a victim; CONTRACTS_KILL_ROUNDS sets another number.</summary>
    private static readonly int Rounds =
        int.TryParse(Environment.GetEnvironmentVariable("CONTRACTS_KILL_ROUNDS"), CultureInfo.InvariantCulture, out var rounds) ? rounds : 2;

    [Fact]
    public async Task Stopped_between_any_two_steps_everything_is_sealed_once_and_one_root_of_a_size_is_signed()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        var kills = 0;
        foreach (var round in Enumerable.Range(0, Rounds))
        {
            foreach (var step in Steps)
            {
                await shop.LiveAsync(2, 2, $"{step}{round}");

                await KillAsync(shop, step);

                kills++;
            }
        }

        await shop.SealCleanlyAsync();
        var events = await shop.NumberAsync("select count(*) from contracts.mt_events");
        Assert.Equal(events, await shop.NumberAsync("select count(*) from audit.leaf where kind = 'event'"));
        var journal = Directory.GetFiles(shop.SignerFolder, "journal", SearchOption.AllDirectories).Single();
        var sizes = (await File.ReadAllLinesAsync(journal, TestContext.Current.CancellationToken)).Select(line => line.Split(' ')[0]).ToList();
        Assert.Equal(sizes.Distinct(), sizes);
        await shop.CheckCleanAsync();
        output.WriteLine($"{kills} kills between {Steps.Length} steps: {events} events sealed once each, {sizes.Count} heads signed, no size twice");
    }

    [Fact]
    public async Task A_sealer_that_died_right_after_its_commit_leaves_a_head_that_the_next_one_has_signed()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(1, 1);
        await KillAsync(shop, SealStep.StateWritten);
        Assert.Null(await shop.Store.Seals.LatestAsync(TestContext.Current.CancellationToken));

        var report = await shop.SealCleanlyAsync();

        Assert.Equal((0, report.Size), (report.Events, report.Checkpoint!.Size));
    }

    [Theory]
    [InlineData(nameof(SealStep.StateWritten))]
    [InlineData(nameof(SealStep.Signed))]
    public async Task A_sealer_that_is_asked_to_stop_stores_what_was_signed(string at)
    {
        await using var shop = await SealedShop.OpenAsync(server);
        await shop.LiveAsync(1, 1);
        using var asked = new CancellationTokenSource();
        void Stop(SealStep step)
        {
            if (step.ToString() == at) { asked.Cancel(); }
        }

        var sealer = shop.Store.SealerWith(new FolderSigner(shop.SignerFolder) { Step = Stop }, Stop);
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => sealer.SealAsync(false, asked.Token));
        Assert.NotNull(await shop.Store.Seals.LatestAsync(TestContext.Current.CancellationToken));
        await shop.CheckCleanAsync();
    }

    private static async Task KillAsync(SealedShop shop, SealStep at)
    {
        void Stop(SealStep step)
        {
            if (step == at) { throw new KilledException(); }
        }

        var sealer = shop.Store.SealerWith(new FolderSigner(shop.SignerFolder) { Step = Stop }, Stop);
        await Assert.ThrowsAsync<KilledException>(() => sealer.SealAsync());
    }

    private sealed class KilledException : Exception;
}
