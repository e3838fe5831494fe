using System.Text;
using Contracts.Host.Counter;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Tests.Reference;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Support;

/// <summary>A thousand generated contracts, loaded once as one command file, for every test that asks many.</summary>
public sealed class ThousandLives(Server server) : IAsyncLifetime
{
    public const string Name = "a thousand lives";

    private const int Contracts = 1000;

    /// <summary>The store that holds them.</summary>
    public ContractsStore Store { get; private set; } = null!;

    /// <summary>Its database.</summary>
    public string Database { get; private set; } = "";

    /// <summary>The accepted lines of each life; the first is of C-1.</summary>
    public List<List<AcceptedCommand>> Lives { get; private set; } = [];

    public async ValueTask InitializeAsync()
    {
        Lives = [.. Enumerable.Range(1, Contracts).Select(number => LivesFile.Renamed(number, Life.Generate(number * 7919, steps: 25)))];
        Database = await server.NewDatabaseAsync();
        Store = await ContractsStore.OpenAsync(Database, new StoreSettings(Server.Zone, true));
        await using var bus = await CommandBus.StartAsync(Store, CancellationToken.None);
        var loader = new FileLoader(bus, stopOnRefusal: false, new Progress(null));
        var file = new MemoryStream(Encoding.UTF8.GetBytes(string.Join('\n', LivesFile.Merged(Lives))));
        await loader.LoadAsync("lives", file, CancellationToken.None);
        Assert.Empty(loader.Summary.Refused);
    }

    public ValueTask DisposeAsync() => Store.DisposeAsync();
}

/// <summary>The tests that share the thousand lives.</summary>
[CollectionDefinition(ThousandLives.Name)]
public sealed class ThousandLivesTests : ICollectionFixture<ThousandLives>;
