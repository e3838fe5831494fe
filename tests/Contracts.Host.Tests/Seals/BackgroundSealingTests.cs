using System.Collections.Concurrent;
using Contracts.Host.Sealing;
using Contracts.Host.Tests.Support;
using Microsoft.Extensions.Logging;
using Xunit;

namespace Contracts.Host.Tests.Seals;

/// <summary>What a running host seals by itself: nobody asks, the test waits for what it should do and gives up only after long.</summary>
public sealed class BackgroundSealingTests(Server server)
{
    private static readonly TimeSpan Long = TimeSpan.FromMinutes(2);

    [Fact]
    public async Task What_is_written_beside_a_host_is_signed_without_anybody_asking()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        var told = new Told();
        using var sealing = new BackgroundSealing(shop.Store, shop.Signer, told);
        await sealing.StartAsync(TestContext.Current.CancellationToken);
        await shop.LiveAsync(contracts: 3, payments: 2);
        await UntilAsync(async () => await shop.Store.Seals.WaitingAsync() == 0 && await shop.Store.Seals.LatestAsync() is not null);
        Assert.True((await shop.Store.Seals.LatestAsync())!.Size >= 10);
        // More than the number that wakes it early.
        await shop.LiveAsync(contracts: 10, payments: 30, name: "D");
        await UntilAsync(async () => await shop.Store.Seals.WaitingAsync() == 0);
        await sealing.StopAsync(TestContext.Current.CancellationToken);
        Assert.Empty(told.Lines);
        Assert.Empty((await shop.Store.SealAudit.RunAsync(shop.Signer, TestContext.Current.CancellationToken)).Findings);
    }

    [Fact]
    public async Task A_failure_is_told_stops_no_writer_and_is_made_good_when_it_has_passed()
    {
        await using var shop = await SealedShop.OpenAsync(server);
        var told = new Told();
        await Server.RunAsync(shop.Database, "alter table audit.leaf rename to elsewhere");
        using var sealing = new BackgroundSealing(shop.Store, shop.Signer, told);
        await sealing.StartAsync(TestContext.Current.CancellationToken);
        await UntilAsync(() => Task.FromResult(told.Lines.Any(line => line.Contains("Sealing failed and is tried again", StringComparison.Ordinal))));
        await shop.LiveAsync(contracts: 1, payments: 1);
        await Server.RunAsync(shop.Database, "alter table audit.elsewhere rename to leaf");
        await UntilAsync(async () => await shop.Store.Seals.WaitingAsync() == 0);
        await sealing.StopAsync(TestContext.Current.CancellationToken);
    }

    private static async Task UntilAsync(Func<Task<bool>> isSo)
    {
        using var end = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        end.CancelAfter(Long);
        using var turns = new PeriodicTimer(TimeSpan.FromMilliseconds(50));
        while (!await isSo()) { await turns.WaitForNextTickAsync(end.Token); }
    }

    /// <summary>A log that keeps its lines.</summary>
    private sealed class Told : ILogger<BackgroundSealing>
    {
        public ConcurrentQueue<string> Lines { get; } = new();

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) => Lines.Enqueue(formatter(state, exception));
    }
}
