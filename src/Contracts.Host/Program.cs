using System.CommandLine;
using Contracts.Host.Terminal;
using Spectre.Console;

// A pipe has no width; a table for it should not be broken at eighty columns.
const int widthOfAPipe = 120;
if (Console.IsOutputRedirected) { AnsiConsole.Profile.Width = widthOfAPipe; }

try
{
    var parsed = ContractsCommand.Root().Parse(args.Length == 0 ? ["--help"] : args);
    if (parsed.Errors.Count == 0)
    {
        return await parsed.InvokeAsync(new InvocationConfiguration { EnableDefaultExceptionHandler = false });
    }

    foreach (var error in parsed.Errors) { await Console.Error.WriteLineAsync($"contracts: {error.Message}"); }
    await Console.Error.WriteLineAsync("contracts: --help shows what there is.");
    return ExitCodes.WrongUsage;
}
catch (UsageException wrong)
{
    await Console.Error.WriteLineAsync($"contracts: {wrong.Message}");
    return ExitCodes.WrongUsage;
}
catch (Exception bug)
{
    // A bug: everything there is to know goes to standard error, and the shell gets an answer it can test.
    await Console.Error.WriteLineAsync($"contracts: this should not happen; please report it.\n{bug}");
    return ExitCodes.Failed;
}
