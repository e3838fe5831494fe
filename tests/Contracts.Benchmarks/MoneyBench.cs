using System.Diagnostics;
using System.Globalization;
using System.Text;
using Contracts.Host.Bank;
using Contracts.Host.Terminal;

namespace Contracts.Benchmarks;

/// <summary>A money file of many lines, matched and posted, beside `load` of the same payments; and the memory that reading a large file takes.</summary>
internal sealed class MoneyBench(Databases databases, string folder)
{
    private const int PerContract = 4;
    private const string Day = "2025-10-30";
    private const string Now = "2025-11-01T15:00:00Z";
    private const string Mapping = """{"name":"bench","account":"000771204821","method":"ach","columns":{"bookedOn":"Posted","reference":"Reference","amount":"Amount","text":["Text"]}}""";

    /// <summary>What each of a contract's lines pays: an amount that was recorded within ten days is never posted by itself a second time.</summary>
    private static readonly string[] Amounts = ["48.04", "11.01", "12.02", "13.03"];

    public async Task RunAsync(int lines)
    {
        var contracts = lines / PerContract;
        await TakeAsync(contracts, 200, "warm-up.csv", WriteCsv, CsvMapping.Read(Encoding.UTF8.GetBytes(Mapping)).Mapping);
        await LoadAsync(200, "warm-up.jsonl");
        var load = await LoadAsync(contracts, "pay.jsonl");
        var csv = await TakeAsync(contracts, contracts, "bank.csv", WriteCsv, CsvMapping.Read(Encoding.UTF8.GetBytes(Mapping)).Mapping);
        var camt = await TakeAsync(contracts, contracts, "bank.xml", WriteCamt, null);
        Console.WriteLine($"load of {lines:N0} payments: {lines / load:N0} a second");
        Console.WriteLine($"CSV of {lines:N0} lines: {lines / csv:N0} a second; ratio to load {load / csv:F2} (goal: at least 0.5)");
        Console.WriteLine($"camt.053 of {lines:N0} entries: {lines / camt:N0} a second; ratio to load {load / camt:F2} (goal: at least 0.5)");
        Console.WriteLine($"load average {(await File.ReadAllTextAsync("/proc/loadavg")).Trim()}");
    }

    /// <summary>Reads a file through as the first pass of `bank read` does; run by itself, so that the memory is the reading's.</summary>
    public static void Memory(string file, long megabytes)
    {
        var lines = (int)(megabytes * 1_000_000 / 434);
        WriteCamt(file, lines / PerContract, PerContract);
        var before = Process.GetCurrentProcess().PeakWorkingSet64;
        var clock = Stopwatch.StartNew();
        var (received, _, _, _) = MoneyFiles.Check(new MoneyFile(file, "large.xml", null));
        Console.WriteLine($"{new FileInfo(file).Length / 1e6:N0} MB, {received.Statements[0].Lines:N0} entries read and added up in {clock.Elapsed.TotalSeconds:F1} s; "
            + $"peak memory {Process.GetCurrentProcess().PeakWorkingSet64 / 1e6:N0} MB, before reading {before / 1e6:N0} MB");
    }

    private async Task<double> LoadAsync(int contracts, string name)
    {
        await using var made = await ShopAsync(contracts);
        var file = Path.Combine(folder, name);
        using (var text = new StreamWriter(file, append: false, new UTF8Encoding(false), 1 << 16))
        {
            foreach (var (contract, line) in Entries(contracts, PerContract))
            {
                text.WriteLine($$"""{"do":"pay","key":"pay-{{contract}}-{{line}}","at":"{{Now}}","contract":"C-{{contract:000000}}","on":"{{Day}}","by":"office","amount":"{{Amounts[line]}}","method":"ach","reference":"R-{{contract}}-{{line}}"}""");
            }
        }

        var clock = Stopwatch.StartNew();
        var summary = await Databases.LoadFileAsync(made.Store, file);
        return summary.Applied == contracts * PerContract ? clock.Elapsed.TotalSeconds : throw new InvalidOperationException($"{summary.Refused.Count} payments were refused");
    }

    private async Task<double> TakeAsync(int contracts, int paying, string name, Action<string, int, int> write, CsvMapping? mapping)
    {
        await using var made = await ShopAsync(Math.Min(contracts, paying));
        var file = Path.Combine(folder, name);
        write(file, paying, PerContract);
        var (clock, processor) = (Stopwatch.StartNew(), Process.GetCurrentProcess().TotalProcessorTime);
        var outcome = await MoneyFiles.TakeAsync(made.Store, new MoneyFile(file, name, mapping), "office", null, CancellationToken.None);
        var took = clock.Elapsed.TotalSeconds;
        Console.WriteLine($"  {name}: {outcome.Count} in {took:F1} s, our own processors {(Process.GetCurrentProcess().TotalProcessorTime - processor).TotalSeconds:F1} s {outcome.Refusal?.Detail}");
        return outcome.Count.Matched == paying * PerContract ? took : throw new InvalidOperationException("Not every line was clear.");
    }

    /// <summary>Contracts that were signed over a year, and a clock that stands some months later.</summary>
    private async Task<BenchStore> ShopAsync(int contracts)
    {
        var file = Path.Combine(folder, "shop.jsonl");
        Portfolio.Write(file, contracts, 1);
        await File.AppendAllTextAsync(file, $$$"""{"do":"set-tax","key":"later","at":"{{{Now}}}","jurisdiction":"L","rate":"0.01","from":"2020-01-01","taxes":{"rent":true}}""" + "\n");
        var made = await databases.NewAsync();
        await Databases.LoadFileAsync(made.Store, file);
        await made.ExecuteAsync("vacuum analyze contracts.mt_events");
        await databases.CheckpointAsync();
        return made;
    }

    private static IEnumerable<(int Contract, int Line)> Entries(int contracts, int each) =>
        Enumerable.Range(0, each).SelectMany(line => Enumerable.Range(0, contracts).Select(contract => (contract, line)));

    private static void WriteCsv(string file, int contracts, int each)
    {
        using var text = new StreamWriter(file, append: false, new UTF8Encoding(false), 1 << 16);
        text.WriteLine("Posted,Reference,Amount,Text");
        foreach (var (contract, line) in Entries(contracts, each)) { text.WriteLine($"{Day},R-{contract}-{line},{Amounts[line]},rent C-{contract:000000}"); }
    }

    private static void WriteCamt(string file, int contracts, int each)
    {
        using var text = new StreamWriter(file, append: false, new UTF8Encoding(false), 1 << 16);
        var sum = Amounts.Sum(amount => decimal.Parse(amount, CultureInfo.InvariantCulture)) * contracts;
        text.Write($"""
            <?xml version="1.0" encoding="UTF-8"?>
            <Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.08"><BkToCstmrStmt><GrpHdr><MsgId>M</MsgId><CreDtTm>2025-10-30T21:00:00Z</CreDtTm></GrpHdr>
            <Stmt><Id>S-1</Id><CreDtTm>2025-10-30T21:00:00Z</CreDtTm><Acct><Id><Othr><Id>000771204821</Id></Othr></Id><Ccy>USD</Ccy></Acct>
            {Balance("OPBD", 0m)}{Balance("CLBD", sum)}

            """);
        foreach (var (contract, line) in Entries(contracts, each))
        {
            text.Write($"""
                <Ntry><Amt Ccy="USD">{Amounts[line]}</Amt><CdtDbtInd>CRDT</CdtDbtInd><Sts><Cd>BOOK</Cd></Sts><BookgDt><Dt>{Day}</Dt></BookgDt><ValDt><Dt>{Day}</Dt></ValDt>
                <AcctSvcrRef>R-{contract}-{line}</AcctSvcrRef><BkTxCd><Prtry><Cd>CREDIT</Cd></Prtry></BkTxCd><NtryDtls><TxDtls><Refs><EndToEndId>NOTPROVIDED</EndToEndId></Refs>
                <Amt Ccy="USD">{Amounts[line]}</Amt><CdtDbtInd>CRDT</CdtDbtInd><RmtInf><Ustrd>rent C-{contract:000000}</Ustrd></RmtInf></TxDtls></NtryDtls></Ntry>

                """);
        }

        text.Write("</Stmt></BkToCstmrStmt></Document>");
    }

    private static string Balance(string kind, decimal amount) => string.Create(
        CultureInfo.InvariantCulture,
        $"<Bal><Tp><CdOrPrtry><Cd>{kind}</Cd></CdOrPrtry></Tp><Amt Ccy=\"USD\">{amount:0.00}</Amt><CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>{Day}</Dt></Dt></Bal>");
}
