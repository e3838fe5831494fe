using System.Globalization;
using Contracts.Benchmarks;
using Contracts.Store.Embedded;

// dotnet run -c Release --project tests/Contracts.Benchmarks [-- load 100000 | accounts 100000 | write 100000 FILE]
var what = args.Length > 0 ? args[0] : "all";
var size = args.Length > 1 ? int.Parse(args[1], CultureInfo.InvariantCulture) : 100_000;
if (what == "write")
{
    Console.WriteLine($"{Portfolio.Write(args[2], size, 24):N0} lines");
    return 0;
}

var folder = Path.Combine(Path.GetTempPath(), $"contracts-bench-{Environment.ProcessId}");
Directory.CreateDirectory(folder);
var server = await EmbeddedServer.StartAsync(folder, Console.Error.WriteLine, CancellationToken.None);
try
{
    var bench = new Bench(server);
    if (what is "all" or "load") { await bench.LoadAsync(size, folder); }
    if (what is "all" or "accounts") { await bench.AccountsAsync(size, folder); }
    return 0;
}
finally
{
    Npgsql.NpgsqlConnection.ClearAllPools();
    await server.StopAsync();
    Directory.Delete(folder, recursive: true);
}
