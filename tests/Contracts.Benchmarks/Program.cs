using System.Globalization;
using Contracts.Agreements;
using Contracts.Benchmarks;
using Contracts.Benchmarks.Books;
using Contracts.Books;
using Contracts.Store;
using Contracts.Store.Embedded;

// dotnet run -c Release --project tests/Contracts.Benchmarks [-- load 100000 | accounts 100000 | books 100000 [RUNS [FILE]] | quote [TIMES] | explain [TIMES] | differ 100000 [RUNS] | year [2000] | money 100000 | money-memory MEGABYTES FILE | seals 100000 | sealing SECONDS | dossier | http [60 RUNS [RATE]] | papers 10000 | write 100000 FILE [bill]]
var what = args.Length > 0 ? args[0] : "all";
var size = args.Length > 1 ? int.Parse(args[1], CultureInfo.InvariantCulture) : 100_000;
if (what == "write")
{
    Console.WriteLine($"{Portfolio.Write(args[2], size, 24, args.Length > 3 ? new NodaTime.LocalDate(2027, 6, 30) : null):N0} lines");
    return 0;
}

if (what == "quote")
{
    QuoteBench.Run(args.Length > 1 ? size : 20_000);
    return 0;
}

if (what == "money-memory")
{
    MoneyBench.Memory(args[2], size);
    return 0;
}

if (what == "explain")
{
    ExplainBench.Run(args.Length > 1 ? size : 500);
    return 0;
}

var runs = args.Length > 2 ? int.Parse(args[2], CultureInfo.InvariantCulture) : 3;
if (runs % 2 == 0) { throw new ArgumentException("A median needs an odd number of runs."); }
if (what == "papers")
{
    PapersBench.Run(size, runs);
    return 0;
}

var folder = Path.Combine(Path.GetTempPath(), $"contracts-bench-{Environment.ProcessId}");
Directory.CreateDirectory(folder);
var server = await EmbeddedServer.StartAsync(folder, Console.Error.WriteLine, CancellationToken.None);
try
{
    var databases = new Databases(server);
    var bench = new Bench(databases);
    if (what is "all" or "load") { await bench.LoadAsync(size, folder); }
    if (what is "all" or "accounts") { await bench.AccountsAsync(size, folder); }
    if (what is "all" or "seals") { await new SealsBench(databases, new Results(size, runs), runs, folder).RunAsync(size); }
    if (what is "sealing") { await new SealLagBench(databases, new Results(size, runs), runs, folder).RunAsync(args.Length > 1 ? size : 60); }
    if (what is "all" or "dossier") { await new DossierBench(databases, new Results(60, runs), runs, folder).RunAsync(); }
    if (what is "year") { await new YearBench(databases, folder).RunAsync(args.Length > 1 ? size : 2000, args.Length > 3 ? int.Parse(args[3], CultureInfo.InvariantCulture) : 50); }
    if (what is "money") { await new MoneyBench(databases, folder).RunAsync(size); }
    if (what is "differ") { await new DifferBench(server, databases, runs, folder).RunAsync(size); }
    if (what is "http") { await new HttpBench(databases, new Results(60, runs), runs, args.Length > 3 ? double.Parse(args[3], CultureInfo.InvariantCulture) : null).RunAsync(); }
    if (what is "all" or "books")
    {
        var results = new Results(size, runs);
        await new BooksBench(databases, results, runs, folder, CloseAsync).RunAsync(size);
        Console.WriteLine($"results: {await results.WriteAsync(args.Length > 3 ? args[3] : Path.Combine("artifacts", $"books-{size}.json"))}");
    }

    return 0;
}
finally
{
    Npgsql.NpgsqlConnection.ClearAllPools();
    await server.StopAsync();
    Directory.Delete(folder, recursive: true);
}

static async Task CloseAsync(ContractsStore store, NodaTime.YearMonth month, NodaTime.Instant at)
{
    var close = new Command.Close(month) { Origin = new CommandOrigin($"close-{month}", null, null) };
    var result = await store.MonthClose.CloseAsync(close, Chart.Standard, "A benchmark's month", at);
    if (result.Outcome is not CommandResult.Applied) { throw new InvalidOperationException($"{month} was not closed: {result.Outcome}"); }
}
