using System.CommandLine;
using Contracts.Host.Terminal;

var parsed = ContractsCommand.Root().Parse(args);
if (parsed.Errors.Count > 0)
{
    foreach (var error in parsed.Errors) { await Console.Error.WriteLineAsync($"contracts: {error.Message}"); }
    await Console.Error.WriteLineAsync("contracts: --help shows what there is.");
    return ExitCodes.WrongUsage;
}

return await parsed.InvokeAsync(new InvocationConfiguration { EnableDefaultExceptionHandler = false });
