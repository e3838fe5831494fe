using System.CommandLine;
using Contracts.Host.Terminal;
using Spectre.Console;

// A pipe has no width; a table for it should not be broken at eighty columns.
const int widthOfAPipe = 120;
if (Console.IsOutputRedirected) { AnsiConsole.Profile.Width = widthOfAPipe; }

var parsed = ContractsCommand.Root().Parse(args);
if (parsed.Errors.Count > 0)
{
    foreach (var error in parsed.Errors) { await Console.Error.WriteLineAsync($"contracts: {error.Message}"); }
    await Console.Error.WriteLineAsync("contracts: --help shows what there is.");
    return ExitCodes.WrongUsage;
}

return await parsed.InvokeAsync(new InvocationConfiguration { EnableDefaultExceptionHandler = false });
